"""Records of invented jobs, made without archive and sound; nothing in them is real."""

from collections.abc import Iterable

from tensionear.job.bundle.chain import ChainDocument
from tensionear.job.log import Fact
from tensionear.job.record.finding import found_of
from tensionear.job.record.pdf.pdf_content import PdfContent
from tensionear.job.record.pdf.record_content import pdf_content
from tensionear.job.record.record_document import RecordDocument, TakenSetup
from tensionear.job.setup import Setup
from tensionear.job.sha256 import sha256_of
from tensionear.job.state import state_of
from tests.job.invented import FIRST_MOMENT, invented_log, invented_setup

ARCHIVE_ID = "6a2f3c1e-0b8d-4a8e-9c55-3f0e7d1b2a90"
PHOTO = b"a photo's bytes"


def invented_record(
    facts: Iterable[Fact],
    setup: Setup | None = None,
    *,
    is_demonstration: bool = True,
    later_setups: Iterable[Setup] = (),
) -> RecordDocument:
    """The record of the job of `invented_log`; `later_setups` are those that `facts` take."""
    setups = (setup or invented_setup(), *later_setups)
    log = invented_log(facts, setup=setups[0], is_demonstration=is_demonstration)
    return RecordDocument(
        made_at=log[-1].at,
        software_version="0.0.0",
        estimator_version=1,
        chain=ChainDocument(archive_id=ARCHIVE_ID, number=1, previous_record_sha256=None),
        job_number="invented 1",
        job_uid="0d7b7d4e-58c5-4d61-8d6b-6d6a0f1ac0de",
        is_demonstration=is_demonstration,
        setups=tuple(
            TakenSetup(
                name=each.name,
                version=version,
                made_at=FIRST_MOMENT,
                by="Zofia Żółć",
                reason="" if version == 1 else "invented: a better value",
                sha256=sha256_of(each.canonical()),
                setup=each,
            )
            for version, each in enumerate(setups, 1)
        ),
        log=log,
        sound_files={},
        photo_files={sha256_of(PHOTO): "photos/photo-01.jpg"},
        found=found_of(state_of(log), setups[-1]),
    )


def content_of(record: RecordDocument) -> PdfContent:
    """What the PDF of a record says."""
    return pdf_content(record, sha256_of(record.canonical()), {sha256_of(PHOTO): PHOTO}.__getitem__)
