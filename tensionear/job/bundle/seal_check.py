"""Whether what a seal says is so: of the files of one bundle, and of the records of one archive.

No finding means that the files are those that were sealed. It does not mean that the seal is the workshop's: an
unsigned one can be made by anybody, see `tensionear.job.bundle.seal`. Only with ``expected_public_key``, come by in
another way than with the bundle, is the workshop's word behind it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import groupby, pairwise
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from tensionear.errors import BundleError
from tensionear.job.bundle.bundle_names import RECORD, SEAL, shown
from tensionear.job.bundle.seal import (
    Seal,
    SealedFile,
    Signature,
    read_seal,
    what_the_chain_hash_binds,
    what_the_signature_binds,
)
from tensionear.job.bundle.signing import fingerprint, is_signature_of, raw_public_key
from tensionear.job.canonical_json import read_canonical
from tensionear.job.sha256 import sha256_of


class SealFault(StrEnum):
    """What is not as it was."""

    SEAL_MISSING = "seal missing"
    SEAL_UNREADABLE = "seal unreadable"
    RECORD_MISSING = "record missing"
    RECORD_CHANGED = "record changed"
    FILE_MISSING = "file missing"
    FILE_EXTRA = "file extra"
    FILE_CHANGED = "file changed"
    SEAL_CHANGED = "seal changed"
    SIGNATURE_WRONG = "signature wrong"
    OTHER_KEY = "other key"
    NOT_SIGNED = "not signed"
    OTHER_ARCHIVE = "other archive"
    NUMBER_TWICE = "number twice"
    RECORDS_MISSING = "records missing"
    PREDECESSOR_WRONG = "predecessor wrong"
    NOT_THE_KNOWN_ONE = "not the known one"


@dataclass(frozen=True)
class SealFinding:
    """Something that is not as it was when it was sealed.

    Attributes
    ----------
    fault : SealFault
    name : str or None
        The file that it is about; None if it is about the seal, or about several records.
    sentence : str
        What was found, to be shown as it is.
    """

    fault: SealFault
    name: str | None
    sentence: str


def check_seal(
    files: Mapping[str, bytes], expected_public_key: Ed25519PublicKey | None = None
) -> list[SealFinding]:
    """Compare the files of a bundle with its seal.

    Parameters
    ----------
    files : mapping of str to bytes
        All of them, the seal among them.
    expected_public_key : Ed25519PublicKey, optional
        Whose signature has to be on it. Without it a signature is checked with the key that it brings along, which
        shows that all of the seal is of one hand, but not of whose.

    Returns
    -------
    list of SealFinding
        Empty if everything is as it was sealed.
    """
    if SEAL not in files:
        return [SealFinding(SealFault.SEAL_MISSING, SEAL, f"{SEAL} is missing: nothing can be checked")]
    try:
        seal = read_seal(files[SEAL])
    except BundleError as error:
        return [SealFinding(SealFault.SEAL_UNREADABLE, SEAL, f"{SEAL} cannot be read: {error}")]
    # Hashes are of what is written there, not of what a model makes of it.
    content = read_canonical(files[SEAL])
    return [
        *_of_the_record(seal, files),
        *_of_the_files(seal, files),
        *_of_the_seal(seal, content),
        *_of_the_signature(seal.signature, content, expected_public_key),
    ]


def check_chain(seals: Sequence[Seal], known: Mapping[int, str] | None = None) -> list[SealFinding]:
    """Compare the seals of an archive's records with one another.

    Each of them has passed `check_seal`; this is about the links between them. A chain cannot show that its newest
    records were removed, for nothing comes after them; that takes their number or hash from elsewhere: from the
    archive itself, from a printed record, from a customer. Nor can it show that all of an archive was made anew,
    unless the seals are signed.

    Parameters
    ----------
    seals : sequence of Seal
        In any order; the same seal may come more than once.
    known : mapping of int to str, optional
        ``record_sha256`` by number, of records that are known from elsewhere.

    Returns
    -------
    list of SealFinding
        Empty if the records are numbered from 1 without a gap, each with the predecessor that it names, and those
        that are known are among them.
    """
    if not seals:
        return _of_the_known({}, known or {})
    archive_id = seals[0].chain.archive_id
    found = [
        SealFinding(
            SealFault.OTHER_ARCHIVE,
            None,
            f"record {seal.chain.number} of archive {seal.chain.archive_id!r} is none of archive {archive_id!r}",
        )
        for seal in seals
        if seal.chain.archive_id != archive_id
    ]
    of_archive = sorted(
        (seal for seal in seals if seal.chain.archive_id == archive_id), key=lambda seal: seal.chain.number
    )
    by_number: dict[int, list[Seal]] = {}
    for number, same in groupby(of_archive, key=lambda seal: seal.chain.number):
        by_number[number] = list({seal.chain_sha256: seal for seal in same}.values())
        if len(by_number[number]) > 1:
            found.append(
                SealFinding(
                    SealFault.NUMBER_TWICE,
                    None,
                    f"{len(by_number[number])} different records have number {number}: there can be one only",
                )
            )
    found.extend(_of_the_gaps(sorted(by_number)))
    found.extend(_of_the_links(by_number))
    found.extend(_of_the_known(by_number, known or {}))
    return found


def _of_the_record(seal: Seal, files: Mapping[str, bytes]) -> Iterator[SealFinding]:
    if RECORD not in files:
        yield SealFinding(SealFault.RECORD_MISSING, RECORD, f"{RECORD} is missing")
    elif sha256_of(files[RECORD]) != seal.record_sha256:
        yield SealFinding(SealFault.RECORD_CHANGED, RECORD, f"{RECORD} is not the record that was sealed")


def _of_the_files(seal: Seal, files: Mapping[str, bytes]) -> Iterator[SealFinding]:
    for name in sorted(set(seal.files) | set(files) - {SEAL, RECORD}):
        if name not in files:
            yield SealFinding(SealFault.FILE_MISSING, name, f"{shown(name)} was sealed and is missing")
        elif name not in seal.files:
            yield SealFinding(SealFault.FILE_EXTRA, name, f"{shown(name)} was not there when it was sealed")
        else:
            yield from _of_a_file(name, files[name], seal.files)


def _of_a_file(name: str, content: bytes, sealed: Mapping[str, SealedFile]) -> Iterator[SealFinding]:
    was = sealed[name]
    sha256 = sha256_of(content)
    if sha256 == was.sha256 and len(content) == was.n_bytes:
        return
    others = [other for other, file in sealed.items() if file.sha256 == sha256 and other != name]
    if others:
        what = f"it holds what {shown(others[0])} held when it was sealed"
    elif len(content) != was.n_bytes:
        what = f"it has {len(content)} bytes and had {was.n_bytes}"
    else:
        what = f"it still has {was.n_bytes} bytes, but others"
    yield SealFinding(SealFault.FILE_CHANGED, name, f"{shown(name)} is not the file that was sealed: {what}")


def _of_the_seal(seal: Seal, content: Mapping[str, Any]) -> Iterator[SealFinding]:
    if sha256_of(what_the_chain_hash_binds(content)) != seal.chain_sha256:
        yield SealFinding(
            SealFault.SEAL_CHANGED, SEAL, f"{SEAL} does not fit its own hash: a line of it was changed"
        )
    if (seal.chain.number == 1) != (seal.chain.previous_record_sha256 is None):
        yield SealFinding(
            SealFault.PREDECESSOR_WRONG,
            SEAL,
            f"record {seal.chain.number} {'names' if seal.chain.number == 1 else 'does not name'} a record before it",
        )


def _of_the_signature(
    signature: Signature | None, content: Mapping[str, Any], expected: Ed25519PublicKey | None
) -> Iterator[SealFinding]:
    if signature is None:
        if expected is not None:
            yield SealFinding(
                SealFault.NOT_SIGNED,
                SEAL,
                f"the record is not signed, but should be by the key {fingerprint(expected)}: "
                "anybody could have made it",
            )
        return
    key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(signature.public_key))
    holds = is_signature_of(key, bytes.fromhex(signature.value), what_the_signature_binds(content))
    if not holds or signature.fingerprint != fingerprint(key):
        yield SealFinding(
            SealFault.SIGNATURE_WRONG,
            SEAL,
            f"the signature is not of this seal: one of them was changed, or {signature.signer!r} never "
            "signed it",
        )
    if expected is not None and raw_public_key(key) != raw_public_key(expected):
        yield SealFinding(
            SealFault.OTHER_KEY,
            SEAL,
            f"it is signed with the key {fingerprint(key)} and not with the one that was expected, "
            f"{fingerprint(expected)}",
        )


def _of_the_gaps(numbers: Sequence[int]) -> Iterator[SealFinding]:
    for before, after in pairwise([0, *numbers]):
        if after - before > 1:
            which = (
                f"record {before + 1} is"
                if after - before == 2
                else f"records {before + 1} to {after - 1} are"
            )
            yield SealFinding(SealFault.RECORDS_MISSING, None, f"{which} missing")


def _of_the_links(by_number: Mapping[int, Sequence[Seal]]) -> Iterator[SealFinding]:
    for number, seals in by_number.items():
        before = by_number.get(number - 1, [])
        permitted = {seal.record_sha256 for seal in before}
        for seal in seals:
            if before and seal.chain.previous_record_sha256 not in permitted:
                yield SealFinding(
                    SealFault.PREDECESSOR_WRONG,
                    None,
                    f"record {number} names another record {number - 1} than the one that is there",
                )


def _of_the_known(by_number: Mapping[int, Sequence[Seal]], known: Mapping[int, str]) -> list[SealFinding]:
    last = max(by_number, default=0)
    found = []
    for number, sha256 in sorted(known.items()):
        seals = by_number.get(number, [])
        if not seals and number > last:  # the others are told as gaps
            found.append(
                SealFinding(
                    SealFault.RECORDS_MISSING, None, f"record {number} is known from elsewhere and missing"
                )
            )
        found.extend(
            SealFinding(
                SealFault.NOT_THE_KNOWN_ONE,
                None,
                f"record {number} is not the one that is known from elsewhere by its hash",
            )
            for seal in seals
            if seal.record_sha256 != sha256
        )
    return found
