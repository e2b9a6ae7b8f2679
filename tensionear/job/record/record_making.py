"""A record of a job, and the bundle that carries it: document, table, sound, photos, picture, PDF and seal."""

from collections.abc import Callable, Sequence
from datetime import datetime

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from tensionear import __version__
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.archive.records import ChainPlace, KeptRecord
from tensionear.job.archive.setups import KeptSetup
from tensionear.job.bundle.bundle_names import DOCUMENT, RECORD, SEAL
from tensionear.job.bundle.chain import ChainDocument
from tensionear.job.bundle.seal import make_seal, write_seal
from tensionear.job.log import PhotoAdded, PluckKept, SetupTaken
from tensionear.job.record.finding import found_of
from tensionear.job.record.found_document import Found
from tensionear.job.record.pdf.record_content import pdf_content
from tensionear.job.record.pdf.record_pdf import PageSize, record_pdf
from tensionear.job.record.plucks_csv import CSV_FILES, plucks_csv
from tensionear.job.record.record_document import RecordDocument, TakenSetup
from tensionear.job.record.record_reading import record_from
from tensionear.job.sha256 import sha256_of
from tensionear.pass_ladder_picture import pass_ladder_png
from tensionear.pluck.estimator import ESTIMATOR_VERSION

LADDER = "pictures/pass-ladder.png"

_ENDINGS = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}


def add_record(archive: Archive, job_number: str, by: str = "") -> KeptRecord:
    """Make a record of a job as it is now and put it into its archive's chain.

    Parameters
    ----------
    archive : Archive
    job_number : str
        Of the job.
    by : str
        Who makes it; empty: the technician.

    Raises
    ------
    InputError
        If there is no such job, or it is deleted.
    ArchiveError
        If the archive cannot be read or written.
    """
    # Found before nobody else may write, and only anew if the job went on meanwhile.
    before = archive.job(job_number)
    found = found_of(before.state, before.setup)

    def make(job: ArchivedJob, place: ChainPlace) -> bytes:
        taken = [entry.fact for entry in job.log if isinstance(entry.fact, SetupTaken)]
        # Versions never change: reading them besides is safe.
        setups = [archive.setup(each.setup_name, each.setup_version) for each in taken]
        is_still_so = (job.log, job.setup) == (before.log, before.setup)
        return record_of(job, setups, place, found if is_still_so else None).canonical()

    return archive.add_record(job_number, make, by)


def record_of(
    job: ArchivedJob, setups: Sequence[KeptSetup], place: ChainPlace, found: Found | None = None
) -> RecordDocument:
    """The record of a job.

    Parameters
    ----------
    job : ArchivedJob
        As it is now.
    setups : sequence of KeptSetup
        All that its log took, in order.
    place : ChainPlace
        Among the records of its archive.
    found : Found or None
        What follows from the job, if it was found out before.
    """
    return RecordDocument(
        made_at=place.at,
        software_version=__version__,
        estimator_version=ESTIMATOR_VERSION,
        chain=ChainDocument(
            archive_id=place.archive_id,
            number=place.number,
            previous_record_sha256=place.previous_sha256,
        ),
        job_number=job.number,
        job_uid=job.uid,
        is_demonstration=job.state.is_demonstration,
        setups=tuple(
            TakenSetup(
                name=kept.name,
                version=kept.version,
                made_at=kept.made_at,
                by=kept.by,
                reason=kept.reason,
                sha256=kept.sha256,
                setup=kept.setup,
            )
            for kept in setups
        ),
        log=job.log,
        sound_files=_sound_files(job),
        photo_files=_photo_files(job),
        found=found_of(job.state, job.setup) if found is None else found,
    )


def bundle_files(
    document: bytes,
    content_of: Callable[[str], bytes],
    sealed_at: datetime,
    *,
    page_size: PageSize = PageSize.A4,
    key: Ed25519PrivateKey | None = None,
    signer: str = "",
) -> dict[str, bytes]:
    """All files of a record's bundle.

    Parameters
    ----------
    document : bytes
        ``record.json``.
    content_of : callable
        Gives the bytes of a SHA-256, as `Archive.content` does.
    sealed_at : datetime
        Now, with a time zone.
    page_size : PageSize
        Of the PDF.
    key : Ed25519PrivateKey or None
        To sign with.
    signer : str
        Whose key it is.

    Raises
    ------
    InputError
        If a sound or a photo is missing, or there is a key without a signer or the other way round.
    ArchiveError
        If the archive cannot be read.
    """
    record = record_from(document)
    files = {RECORD: document}
    for sha256, name in (*record.sound_files.items(), *record.photo_files.items()):
        files[name] = content_of(sha256)
    for name, decimal_comma in CSV_FILES.items():
        files[name] = plucks_csv(record, decimal_comma=decimal_comma)
    content = pdf_content(record, sha256_of(document), content_of)
    files[LADDER] = pass_ladder_png(content.ladder)
    files[DOCUMENT] = record_pdf(content, page_size)
    files[SEAL] = write_seal(make_seal(files, record.chain, sealed_at, key, signer))
    return files


def _sound_files(job: ArchivedJob) -> dict[str, str]:
    """Where the sound of each hash lies; a sound that two plucks share lies once."""
    files: dict[str, str] = {}
    for fact in (entry.fact for entry in job.log):
        if isinstance(fact, PluckKept):
            files.setdefault(fact.pluck.sound.flac_sha256, f"sound/pluck-{fact.pluck_number:03d}.flac")
    return files


def _photo_files(job: ArchivedJob) -> dict[str, str]:
    files: dict[str, str] = {}
    for fact in (entry.fact for entry in job.log):
        if isinstance(fact, PhotoAdded):
            files.setdefault(fact.sha256, f"photos/photo-{len(files) + 1:02d}.{_ENDINGS[fact.media_type]}")
    return files
