"""A small record bundle to be damaged in every way; what is in it is invented and means nothing."""

from collections.abc import Mapping
from datetime import UTC, datetime

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from tensionear.job.bundle.chain import ChainDocument
from tensionear.job.bundle.seal import make_seal, write_seal

FILES = {
    "record.json": b'{"job":"invented"}\n',
    "record.pdf": b"%PDF invented",
    "plucks.csv": b"pluck\n1\n",
    "sound/1.flac": b"fLaC invented",
    "sound/2.flac": b"fLaC another",
    "photos/ü.png": b"",
}
CHAIN = ChainDocument(
    archive_id="6a2f3c1e-0b8d-4a8e-9c55-3f0e7d1b2a90", number=3, previous_record_sha256="5" * 64
)
SEALED_AT = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
OTHER_KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(1, 33)))


def sealed(
    files: Mapping[str, bytes] = FILES,
    key: Ed25519PrivateKey | None = None,
    signer: str = "Invented Workshop",
) -> dict[str, bytes]:
    """The files with their seal."""
    seal = make_seal(files, CHAIN, SEALED_AT, key, signer if key else "")
    return {**files, "seal.json": write_seal(seal)}
