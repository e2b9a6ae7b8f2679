"""The hash by which sound, photos, setups and records are named (FIPS 180-4)."""

import hashlib


def sha256_of(content: bytes) -> str:
    """SHA-256 of some bytes, in 64 hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()
