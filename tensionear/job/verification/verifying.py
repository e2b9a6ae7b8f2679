"""Whether a record bundle is what it was, and whether its figures follow from its sound.

Three things are looked at, each by itself: the container and the seal (nothing changed since it was made), the record
(every figure follows from its log, setup and plucks), and the sound (every pluck, read anew, gives its reading). What
was read by another version of the estimator may differ without anybody having changed anything; that is told apart.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from tensionear.errors import BundleError, InputError
from tensionear.job.bundle.bundle_file import read_bundle_file, unpack
from tensionear.job.bundle.bundle_names import DOCUMENT, RECORD, SEAL, shown
from tensionear.job.bundle.seal import Seal, read_seal
from tensionear.job.bundle.seal_check import check_seal
from tensionear.job.hearing import read_anew
from tensionear.job.log import JobOpened, PhotoAdded, PluckKept, SetupTaken
from tensionear.job.pluck_document import PluckDocument, outcome_document
from tensionear.job.record.finding import found_of
from tensionear.job.record.plucks_csv import CSV_FILES, plucks_csv
from tensionear.job.record.record_document import RecordDocument
from tensionear.job.record.record_reading import record_from
from tensionear.job.sha256 import sha256_of
from tensionear.job.state import state_of
from tensionear.job.verification.difference import Difference, differences
from tensionear.job.verification.document_check import document_fault, is_comparable
from tensionear.pluck.estimator import ESTIMATOR_VERSION

_MOST_DIFFERENCES = 5
"""So many places of the container are told one by one; damage has few, another program's packing all."""


class Matter(StrEnum):
    """What a finding is about; the value is the word for it."""

    CONTAINER = "container"
    SEAL = "seal"
    RECORD = "record"
    FIGURE = "figure"
    SOUND = "sound"
    OTHER_ESTIMATOR = "another estimator version"
    """The only one that nobody need have caused: the pluck was read by another version than checks it now."""


@dataclass(frozen=True)
class Finding:
    """Something that is not as it should be, in a sentence."""

    matter: Matter
    sentence: str


@dataclass(frozen=True)
class Verification:
    """What the check of a bundle found.

    Attributes
    ----------
    findings : tuple of Finding
        Empty if everything is as it was and follows from the sound.
    seal : Seal or None
        None if it cannot be read.
    record : RecordDocument or None
        None if it cannot be read.
    n_plucks_read : int
        Plucks of which the sound was read anew.
    is_document_compared : bool
        Whether the PDF was compared with the record, word by word: only by the version of the program that made it,
        and only with a record that is in order.
    """

    findings: tuple[Finding, ...]
    seal: Seal | None
    record: RecordDocument | None
    n_plucks_read: int
    is_document_compared: bool = False

    @property
    def is_as_it_was(self) -> bool:
        """Whether nothing was changed; a newer estimator may still read a pluck otherwise."""
        return all(finding.matter is Matter.OTHER_ESTIMATOR for finding in self.findings)


def verify_bundle(
    path: Path,
    expected_public_key: Ed25519PublicKey | None = None,
    on_pluck: Callable[[int, int], object] = lambda _, __: None,
) -> Verification:
    """Check a bundle.

    Parameters
    ----------
    path : Path
        The bundle.
    expected_public_key : Ed25519PublicKey or None
        Who has to have signed it; None: whoever did, or nobody.
    on_pluck : callable
        Is told after each pluck how many are done, and of how many: their reading takes the time.

    Raises
    ------
    InputError
        If the file cannot be read, or is of a newer version of the format than this program knows. That a file is no
        bundle at all is a finding.
    """
    content = read_bundle_file(path)
    try:
        unpacked = unpack(content)
    except BundleError as error:
        return Verification((Finding(Matter.CONTAINER, str(error)),), None, None, 0)
    findings = [
        Finding(Matter.CONTAINER, f"{each.sentence} (at byte {each.offset})") for each in unpacked.differences
    ]
    if len(findings) > _MOST_DIFFERENCES:
        many = f"{len(findings)} places of it are not as tensionear writes them"
        findings = [
            Finding(
                Matter.CONTAINER, f"it was packed anew by another program: {many}; {findings[0].sentence}"
            )
        ]
    return _verified(unpacked.files, findings, expected_public_key, on_pluck)


def _verified(
    files: Mapping[str, bytes],
    findings: list[Finding],
    expected_public_key: Ed25519PublicKey | None,
    on_pluck: Callable[[int, int], object],
) -> Verification:
    findings += [Finding(Matter.SEAL, each.sentence) for each in check_seal(files, expected_public_key)]
    seal, record = None, None
    with suppress(KeyError, BundleError):  # found by check_seal
        seal = read_seal(files[SEAL])
    n_read, is_document_compared = 0, False
    try:
        record = _record(files)
        faults = list(_record_faults(record, seal, files))
        figure_faults = _figure_faults(record)
        is_document_compared = not faults and not figure_faults and is_comparable(record)
        if is_document_compared and (fault := document_fault(record, files)):
            faults.append(fault)
        findings += [Finding(Matter.RECORD, each) for each in faults]
        findings += figure_faults
        plucks = [entry.fact for entry in record.log if isinstance(entry.fact, PluckKept)]
        for n_done, pluck in enumerate(plucks, 1):
            findings += _sound_faults(pluck, record, files)
            n_read += record.sound_files.get(pluck.pluck.sound.flac_sha256) in files
            on_pluck(n_done, len(plucks))
    except BundleError as error:
        findings.append(Finding(Matter.RECORD, str(error)))
    return Verification(tuple(findings), seal, record, n_read, is_document_compared)


def _record(files: Mapping[str, bytes]) -> RecordDocument:
    if RECORD not in files:
        raise BundleError(f"{RECORD} is missing")
    return record_from(files[RECORD])


def _record_faults(record: RecordDocument, seal: Seal | None, files: Mapping[str, bytes]) -> Iterator[str]:
    if seal is not None and record.chain != seal.chain:
        yield "the record states another place in the chain of its archive than the seal"
    opened = record.log[0].fact
    if isinstance(opened, JobOpened) and record.is_demonstration != opened.is_demonstration:
        yield "the record and its log disagree on whether the job is a demonstration"
    taken = [entry.fact for entry in record.log if isinstance(entry.fact, SetupTaken)]
    stated = [(each.name, each.version, each.sha256) for each in record.setups]
    if stated != [(each.setup_name, each.setup_version, each.setup_sha256) for each in taken]:
        yield "the setups of the record are not those that its log took"
    for each in record.setups:
        if sha256_of(each.setup.canonical()) != each.sha256:
            yield f"setup {shown(each.name)}, version {each.version}, is not the one that was taken"
    yield from _contents_faults(record, files)
    for name, decimal_comma in CSV_FILES.items():
        try:
            table = plucks_csv(record, decimal_comma=decimal_comma)
        except KeyError:
            yield f"{name} cannot be compared: the record does not name every pluck and its sound"
            continue
        if files.get(name) != table:
            yield f"{name} does not say what the record says"
    if DOCUMENT not in files:
        yield f"{DOCUMENT} is missing"


def _contents_faults(record: RecordDocument, files: Mapping[str, bytes]) -> Iterator[str]:
    """Whether all sound and photos of the log are there, and no others."""
    facts = [entry.fact for entry in record.log]
    sounds = {fact.pluck.sound.flac_sha256 for fact in facts if isinstance(fact, PluckKept)}
    photos = {fact.sha256 for fact in facts if isinstance(fact, PhotoAdded)}
    for what, named, needed in (
        ("sound", record.sound_files, sounds),
        ("photo", record.photo_files, photos),
    ):
        for sha256 in sorted(needed - set(named)):
            yield f"the {what} {sha256[:12]}… is in the log, and in no file"
        for sha256, name in named.items():
            if sha256 not in needed:
                yield f"{shown(name)} belongs to nothing in the log"
            elif name not in files:
                yield f"{shown(name)} is missing"
            elif sha256_of(files[name]) != sha256:
                yield f"{shown(name)} is not the {what} that was kept"


def _figure_faults(record: RecordDocument) -> list[Finding]:
    """Whether every figure follows from the log and the setup."""
    try:
        state = state_of(record.log)
        found = found_of(state, record.setups[-1].setup)
    except ValueError as error:  # InputError is one
        return [Finding(Matter.RECORD, f"the log cannot be what happened: {error}")]
    stated = record.found.model_dump(mode="json")
    return [Finding(Matter.FIGURE, each.words) for each in differences(stated, found.model_dump(mode="json"))]


def _sound_faults(fact: PluckKept, record: RecordDocument, files: Mapping[str, bytes]) -> Iterator[Finding]:
    """Whether a pluck's sound gives its reading."""
    pluck, name = fact.pluck, record.sound_files.get(fact.pluck.sound.flac_sha256)
    content = None if name is None else files.get(name)
    if content is None:
        return  # told as missing
    what = f"pluck {fact.pluck_number}"
    try:
        outcome = outcome_document(read_anew(pluck.sound, content))
    except InputError as error:
        yield Finding(Matter.SOUND, f"{what}: {error}")
        return
    other = list(differences(pluck.outcome.model_dump(mode="json"), outcome.model_dump(mode="json")))
    if other:
        yield _sound_finding(what, pluck, other)


def _sound_finding(what: str, pluck: PluckDocument, other: list[Difference]) -> Finding:
    named = next((each for each in other if each.where in ("outcome", "fundamental_hz")), other[0])
    more = f", and {len(other) - 1} more" if len(other) > 1 else ""
    if pluck.estimator_version == ESTIMATOR_VERSION:
        return Finding(Matter.SOUND, f"{what}: its sound does not give what is stated: {named.words}{more}")
    return Finding(
        Matter.OTHER_ESTIMATOR,
        f"{what} was read by estimator version {pluck.estimator_version}, and version {ESTIMATOR_VERSION} reads it"
        f" otherwise: {named.words}{more}",
    )
