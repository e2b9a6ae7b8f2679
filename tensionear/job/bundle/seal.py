"""The seal of a record bundle: the hash of every file, the record's place in the chain of its archive, a signature.

``seal.json`` is a `Seal` in canonical JSON (`tensionear.job.canonical_json`). What it binds:

- ``record_sha256`` and ``files``: SHA-256 [1]_ of record.json and of every other file but the seal itself;
- ``chain``: number and predecessor of the record, as the record states them too, so that each record binds all before
  it;
- ``chain_sha256``: SHA-256 of the canonical JSON of everything in the seal but itself and ``signature``;
- ``signature.value``: Ed25519 over the canonical JSON of everything in the seal but itself, the signer's name and
  ``chain_sha256`` included.

What it cannot show. Without a signature a seal shows damage, and changes by someone who does not know how to make
a seal; whoever does computes all hashes anew, and nothing in the bundle betrays it. Only what is kept elsewhere does:
the record's hash on a signed paper, a later record of the same archive in another's hands. With a signature the same
holds for whoever has the private key.

References
----------
.. [1] NIST: Secure Hash Standard, FIPS 180-4, 2015. doi:10.6028/NIST.FIPS.180-4
"""

import unicodedata
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Annotated, Any, Literal

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from pydantic import AfterValidator, AwareDatetime, Field, StringConstraints, ValidationError

from tensionear.errors import BundleError, InputError
from tensionear.job.bundle.bundle_names import RECORD, SEAL, shown
from tensionear.job.bundle.chain import ChainDocument
from tensionear.job.bundle.signing import fingerprint, raw_public_key, sign
from tensionear.job.canonical_json import read_canonical, write_canonical
from tensionear.job.document import Document, FilledLine, Sha256
from tensionear.job.sha256 import sha256_of

FORMAT_VERSION = 1


_INVISIBLE = ("Cc", "Cf", "Co", "Cs", "Zl", "Zp")
"""Unicode's categories of what nobody sees, or what turns round what stands beside it."""


def _visible(text: str) -> str:
    # Not as a pattern, which JSON Schema would state in a form that many validators cannot read.
    for character in text:
        if unicodedata.category(character) in _INVISIBLE:
            raise ValueError(f"the sign {character!r} is in it, which no one can see: leave it out")
    return text


class SealedFile(Document):
    """What a file was when it was sealed."""

    sha256: Sha256
    n_bytes: Annotated[int, Field(ge=0)]


class Signature(Document):
    """Whose seal it is.

    Attributes
    ----------
    public_key : str
        The 32 bytes of RFC 8032, hexadecimal.
    fingerprint : str
        Of the public key, for people to compare.
    signer : str
        The name that the signer gave, without invisible signs; it is signed, but nobody else vouches for it.
    value : str
        The signature's 64 bytes, hexadecimal.
    """

    public_key: Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
    fingerprint: Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{4}( [0-9a-f]{4}){15}$")]
    signer: Annotated[FilledLine, AfterValidator(_visible)]
    value: Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{128}$")]


class Seal(Document):
    """The seal of one bundle.

    Attributes
    ----------
    kind, format_version
        What this is, and in which version of the format.
    record_sha256 : str
        Of the bytes of record.json.
    files : dict of str to SealedFile
        Every other file by name, but the seal itself.
    chain : ChainDocument
        The record's place among those of its archive.
    chain_sha256 : str
        Binds all of the seal but the signature.
    sealed_at : datetime
        By the clock of the computer, for which nobody vouches. UTC.
    signature : Signature or None
        None if it is not signed.
    """

    kind: Literal["seal of a tensionear record"] = "seal of a tensionear record"
    format_version: Literal[1] = 1
    record_sha256: Sha256
    files: dict[str, SealedFile]
    chain: ChainDocument
    chain_sha256: Sha256
    sealed_at: AwareDatetime
    signature: Signature | None


def make_seal(
    files: Mapping[str, bytes],
    chain: ChainDocument,
    sealed_at: datetime,
    key: Ed25519PrivateKey | None = None,
    signer: str = "",
) -> Seal:
    """Seal the files of a bundle.

    Parameters
    ----------
    files : mapping of str to bytes
        All of them but the seal; record.json is among them.
    chain : ChainDocument
        The record's place, as the record states it.
    sealed_at : datetime
        Now, with a time zone.
    key : Ed25519PrivateKey, optional
        To sign with.
    signer : str
        Whose key it is; empty without a key.

    Raises
    ------
    InputError
        If there is a key without a signer or a signer without a key, or the name cannot be used.
    ValueError
        If there is no record among the files, or a seal already, or the time has no time zone.
    """
    if RECORD not in files or SEAL in files or sealed_at.tzinfo is None:
        raise ValueError(f"what is sealed has a {RECORD}, no {SEAL} yet, and a time with its time zone")
    if (key is None) != (not signer.strip()):
        raise InputError("a signed record needs both a key and the name of the signer: give both, or neither")
    try:
        draft = Seal(
            record_sha256=sha256_of(files[RECORD]),
            files={
                name: SealedFile(sha256=sha256_of(file), n_bytes=len(file))
                for name, file in files.items()
                if name != RECORD
            },
            chain=chain,
            chain_sha256="0" * 64,
            sealed_at=sealed_at.astimezone(UTC).replace(microsecond=0),
            signature=None if key is None else _signature_without_value(key, signer),
        )
        content = draft.model_dump(mode="json")  # what will be written is what is hashed and signed
        content["chain_sha256"] = sha256_of(what_the_chain_hash_binds(content))
        if key is not None:
            content["signature"]["value"] = sign(key, what_the_signature_binds(content)).hex()
        return Seal.model_validate(content)
    except ValidationError as error:
        raise InputError(f"the record cannot be sealed: {_first_fault(error)}") from error


def write_seal(seal: Seal) -> bytes:
    """Bytes of seal.json."""
    return write_canonical(seal.model_dump(mode="json"))


def read_seal(content: bytes) -> Seal:
    """Read the bytes of seal.json; that they are a seal does not yet mean that it holds.

    Raises
    ------
    BundleError
        If they are no seal, not in canonical form, or of a newer version of the format.
    """
    found = read_canonical(content)
    version = found.get("format_version") if isinstance(found, dict) else None
    if isinstance(version, int) and version > FORMAT_VERSION:
        raise BundleError(
            f"the seal has format version {version}, newer than {FORMAT_VERSION}: a newer tensionear can check it"
        )
    try:
        return Seal.model_validate(found)
    except ValidationError as error:
        raise BundleError(f"it is no seal: {_first_fault(error)}") from error


def what_the_chain_hash_binds(content: Mapping[str, Any]) -> bytes:
    """Bytes whose SHA-256 is ``chain_sha256``, from the content of seal.json."""
    return write_canonical(
        {name: content[name] for name in content if name not in ("chain_sha256", "signature")}
    )


def what_the_signature_binds(content: Mapping[str, Any]) -> bytes:
    """Bytes that are signed, from the content of seal.json with a signature."""
    signature = {name: value for name, value in content["signature"].items() if name != "value"}
    return write_canonical({**content, "signature": signature})


def _signature_without_value(key: Ed25519PrivateKey, signer: str) -> Signature:
    public = key.public_key()
    return Signature(
        public_key=raw_public_key(public).hex(),
        fingerprint=fingerprint(public),
        signer=signer,
        value="0" * 128,
    )


def _first_fault(error: ValidationError) -> str:
    first = error.errors()[0]
    place = ".".join(str(step) for step in first["loc"])
    return f"{shown(place)}: {first['msg']}" if place else first["msg"]
