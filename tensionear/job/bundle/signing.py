"""The workshop's key, its signature, and whether a signature is of that key: Ed25519 [1]_.

A key is a pair: the private one signs and stays with the workshop; the public one tells whether it was this
workshop that signed, and may be given to anybody. A signature proves no more than that someone who had the private
key signed these bytes. Whether a public key is the workshop's own is to be settled in another way than by the record
that it came with: compare the fingerprint by telephone, or on paper.

References
----------
.. [1] S. Josefsson, I. Liusvaara: Edwards-Curve Digital Signature Algorithm (EdDSA), RFC 8032, 2017.
   doi:10.17487/RFC8032
"""

import hashlib
import unicodedata
from pathlib import Path

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
    load_pem_public_key,
)

from tensionear.errors import InputError
from tensionear.job.whole_file import write_whole_file

_LARGEST_KEY_FILE_BYTES = 100_000
_SIGNS_IN_A_GROUP = 4
_LONGEST_PASSWORD_BYTES = 1023  # OpenSSL takes no more


def make_key_pair(private_path: Path, password: str | None = None) -> Path:
    """Make a key pair and keep it in two files.

    Parameters
    ----------
    private_path : Path
        For the private key, PEM of PKCS #8; on Linux and macOS only its owner may read it. It has to end in .pem.
    password : str, optional
        Without it the private key can be used by whoever gets hold of the file, or of a copy of the disk.

    Returns
    -------
    Path
        Of the public key, PEM, beside the private one: key.pem has key-public.pem.

    Raises
    ------
    InputError
        If one of the files is there already, neither can be written, or the password is empty or too long.
    """
    if private_path.suffix != ".pem":
        raise InputError(f"key file {private_path} does not end in .pem: give it such a name")
    public_path = private_path.with_name(f"{private_path.stem}-public.pem")
    if public_path.exists():
        raise InputError(f"{public_path} is there already: choose another name, or move it away first")
    encryption = NoEncryption() if password is None else BestAvailableEncryption(_password_bytes(password))
    key = Ed25519PrivateKey.generate()
    private_pem = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, encryption)
    public_pem = key.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    write_whole_file(private_path, [private_pem], mode=0o600)
    try:
        write_whole_file(public_path, [public_pem], mode=0o644)
    except InputError:
        private_path.unlink()  # of no use yet to anybody
        raise
    return public_path


def load_private_key(path: Path, password: str | None = None) -> Ed25519PrivateKey:
    """Load the key that signs.

    Raises
    ------
    InputError
        If the file cannot be read, holds no private key or one of another kind, or the password is missing, wrong or
        not called for.
    """
    pem = _pem_of(path)
    if b"PUBLIC KEY-----" in pem:
        raise InputError(f"key file {path} holds a public key: signing takes the private one")
    if b"ENCRYPTED" in pem and password is None:
        raise InputError(f"key file {path} is protected by a password: give it")
    if b"ENCRYPTED" not in pem and b"PRIVATE KEY-----" in pem and password is not None:
        raise InputError(
            f"key file {path} is not protected by a password, but one was given: is it the right file?"
        )
    try:
        key = load_pem_private_key(pem, None if password is None else _password_bytes(password))
    except (ValueError, TypeError, UnsupportedAlgorithm) as error:
        slip = "is the password right?" if password is not None else "is it the right file, and whole?"
        raise InputError(f"key file {path} cannot be used: {slip}") from error
    if not isinstance(key, Ed25519PrivateKey):
        raise InputError(
            f"key file {path} holds a key of another kind than Ed25519: make one with tensionear"
        )
    return key


def asks_for_password(path: Path) -> bool:
    """Whether the private key in a file is protected by a password.

    Raises
    ------
    InputError
        If the file cannot be read.
    """
    return b"ENCRYPTED" in _pem_of(path)


def holds_private_key(path: Path) -> bool:
    """Whether a file says that it holds a private key.

    Raises
    ------
    InputError
        If the file cannot be read.
    """
    return b"PRIVATE KEY-----" in _pem_of(path)


def load_public_key(path: Path) -> Ed25519PublicKey:
    """Load the key that a signature is checked with.

    Raises
    ------
    InputError
        If the file cannot be read, or holds no public key or one of another kind.
    """
    pem = _pem_of(path)
    if b"PRIVATE KEY-----" in pem:
        raise InputError(
            f"key file {path} holds a private key, which no one but the workshop should have: "
            "checking takes the public one, and so does giving away"
        )
    try:
        key = load_pem_public_key(pem)
    except (ValueError, TypeError, UnsupportedAlgorithm) as error:
        raise InputError(f"key file {path} holds no public key: is it the right file, and whole?") from error
    if not isinstance(key, Ed25519PublicKey):
        raise InputError(f"key file {path} holds a key of another kind than Ed25519: is it the workshop's?")
    return key


def raw_public_key(key: Ed25519PublicKey) -> bytes:
    """A public key's 32 bytes as RFC 8032 has them."""
    return key.public_bytes(Encoding.Raw, PublicFormat.Raw)


def fingerprint(key: Ed25519PublicKey) -> str:
    """SHA-256 of a public key's 32 bytes, in 16 groups of 4 hexadecimal digits, to be compared by people."""
    digits = hashlib.sha256(raw_public_key(key)).hexdigest()
    return " ".join(digits[i : i + _SIGNS_IN_A_GROUP] for i in range(0, len(digits), _SIGNS_IN_A_GROUP))


def sign(key: Ed25519PrivateKey, message: bytes) -> bytes:
    """Sign; gives 64 bytes, the same ones every time."""
    return key.sign(message)


def is_signature_of(key: Ed25519PublicKey, signature: bytes, message: bytes) -> bool:
    """Whether the private key of this public key signed this message."""
    try:
        key.verify(signature, message)
    except InvalidSignature:
        return False
    return True


def _password_bytes(password: str) -> bytes:
    try:
        # However a keyboard composes an "ä", it is one password.
        encoded = unicodedata.normalize("NFC", password).encode("utf-8")
    except UnicodeEncodeError as error:
        raise InputError("the password is no Unicode text: is the terminal's encoding UTF-8?") from error
    if not 0 < len(encoded) <= _LONGEST_PASSWORD_BYTES:
        raise InputError(f"the password has {len(encoded)} bytes: 1 to {_LONGEST_PASSWORD_BYTES} can be used")
    return encoded


def _pem_of(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            pem = file.read(_LARGEST_KEY_FILE_BYTES + 1)
    except (OSError, ValueError) as error:  # ValueError: a null character in the name
        reason = error.strerror if isinstance(error, OSError) and error.strerror else error
        raise InputError(f"key file {path} cannot be read ({reason}): is the name right?") from error
    if len(pem) > _LARGEST_KEY_FILE_BYTES:
        raise InputError(
            f"key file {path} has more than {_LARGEST_KEY_FILE_BYTES} bytes: is it the right file?"
        )
    return pem
