"""``record.json`` as it comes from a bundle or an archive: bytes that anybody may have written."""

from pydantic import ValidationError

from tensionear.errors import BundleError, InputError
from tensionear.job.bundle.bundle_names import RECORD
from tensionear.job.canonical_json import read_canonical
from tensionear.job.record.record_document import RecordDocument
from tensionear.job.validation import faults_of
from tensionear.job.verification.difference import differences

FORMAT_VERSION = 1


def record_from(document: bytes) -> RecordDocument:
    """Read a record.

    Parameters
    ----------
    document : bytes
        ``record.json``.

    Raises
    ------
    BundleError
        If it is no record, not in canonical form, or says something that this program takes otherwise.
    InputError
        If it is of a newer version of the format.
    """
    content = read_canonical(document)
    version = content.get("format_version") if isinstance(content, dict) else None
    if isinstance(version, int) and version > FORMAT_VERSION:
        raise InputError(
            f"the record has format version {version}, newer than {FORMAT_VERSION}: a newer tensionear can read it"
        )
    try:
        record = RecordDocument.model_validate(content)
    except ValidationError as error:
        raise BundleError(f"{RECORD} is no record: {faults_of(error)}") from error
    other = next(iter(differences(content, record.model_dump(mode="json"))), None)
    if other is not None:
        raise BundleError(f"{RECORD} does not say what it means: {other.words}")
    return record
