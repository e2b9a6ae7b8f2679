"""A small record bundle to be damaged in every way; what is in it is invented and means nothing."""

from datetime import UTC, datetime
from uuid import UUID

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

FILES = {
    "record.json": b'{"job":"invented"}\n',
    "record.pdf": b"%PDF invented",
    "plucks.csv": b"pluck\n1\n",
    "sound/1.flac": b"fLaC invented",
    "sound/2.flac": b"fLaC another",
    "photos/ü.png": b"",
}
ARCHIVE_ID = UUID("6a2f3c1e-0b8d-4a8e-9c55-3f0e7d1b2a90")
SEALED_AT = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
OTHER_KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(1, 33)))
