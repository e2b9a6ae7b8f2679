"""Sealing: what is bound, that it is the same every time, and that nothing else is read as a seal."""

import hashlib
import json
from datetime import UTC, datetime, timedelta, timezone

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from tensionear.errors import BundleError, InputError
from tensionear.job.bundle.seal import make_seal, read_seal, write_seal
from tensionear.job.sha256 import sha256_of
from tests.job.small_bundle import CHAIN, FILES, KEY, SEALED_AT, sealed

SEAL = make_seal(FILES, CHAIN, SEALED_AT)
SIGNED = make_seal(FILES, CHAIN, SEALED_AT, KEY, "Invented Workshop Łódź")


@pytest.mark.parametrize(
    ("message", "digest"),
    # NIST, FIPS 180-4 examples (SHA256.pdf of the Cryptographic Standards and Guidelines): "abc" and the two-block
    # message; and that of no bytes, which is well known. From memory.
    [
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    ],
)
def test_the_hash_is_that_of_the_standard(message: bytes, digest: str) -> None:
    assert sha256_of(message) == digest


def test_a_seal_has_the_hash_of_every_file_but_itself() -> None:
    assert SEAL.record_sha256 == sha256_of(FILES["record.json"])
    assert set(SEAL.files) == set(FILES) - {"record.json"}
    for name, file in SEAL.files.items():
        assert (file.sha256, file.n_bytes) == (sha256_of(FILES[name]), len(FILES[name]))


def test_what_was_written_is_read() -> None:
    for seal in (SEAL, SIGNED):
        assert read_seal(write_seal(seal)) == seal
        assert write_seal(read_seal(write_seal(seal))) == write_seal(seal)


def test_the_same_files_give_the_same_seal_in_whatever_order() -> None:
    turned = dict(reversed(FILES.items()))
    assert write_seal(make_seal(turned, CHAIN, SEALED_AT, KEY, "A")) == write_seal(
        make_seal(FILES, CHAIN, SEALED_AT, KEY, "A")
    )


def test_hash_and_signature_can_be_checked_by_hand_with_json_and_hashlib_alone() -> None:
    # For names in ASCII and whole numbers, sorted json.dumps is RFC 8785: so another program can check it.
    content = json.loads(write_seal(make_seal({"record.json": b"{}"}, CHAIN, SEALED_AT, KEY, "A")))
    signature = content.pop("signature")
    value = bytes.fromhex(signature.pop("value"))

    def canonical(shown: object) -> bytes:
        return json.dumps(shown, sort_keys=True, separators=(",", ":")).encode() + b"\n"

    Ed25519PublicKey.from_public_bytes(bytes.fromhex(signature["public_key"])).verify(
        value, canonical({**content, "signature": signature})
    )
    chain_sha256 = content.pop("chain_sha256")
    assert hashlib.sha256(canonical(content)).hexdigest() == chain_sha256


@pytest.mark.parametrize(
    "change",
    [
        {"files": {**FILES, "record.json": b"other"}},
        {"files": {**FILES, "sound/1.flac": b"other"}},
        {"chain": CHAIN.model_copy(update={"number": 4})},
        {"chain": CHAIN.model_copy(update={"archive_id": "another"})},
        {"chain": CHAIN.model_copy(update={"previous_record_sha256": "1" * 64})},
        {"sealed_at": SEALED_AT + timedelta(seconds=1)},
    ],
    ids=["record", "file", "number", "archive", "predecessor", "time"],
)
def test_the_chain_hash_binds_everything(change: dict[str, object]) -> None:
    arguments: dict[str, object] = {"files": FILES, "chain": CHAIN, "sealed_at": SEALED_AT, **change}
    assert make_seal(**arguments).chain_sha256 != SEAL.chain_sha256  # type: ignore[arg-type]
    assert SIGNED.chain_sha256 == SEAL.chain_sha256


def test_the_form_of_a_seal_has_not_changed() -> None:
    # What this program itself wrote at first: another form would make all seals that exist unreadable.
    assert (sha256_of(write_seal(SEAL)), sha256_of(write_seal(SIGNED))) == (
        "5d88c9d5c53c0caabdc1ed1ab742eb9d82fdd0acee55d083a215bffbb8608cd6",
        "06ac7a7a88f776a6dec0200d84632893c2b4222fec159f8d39250f75cef825ef",
    )


def test_the_time_is_kept_in_seconds_of_utc() -> None:
    there = datetime(2026, 11, 25, 18, 0, 0, 999_999, tzinfo=timezone(timedelta(hours=1)))
    assert make_seal(FILES, CHAIN, there) == SEAL
    assert b'"sealed_at":"2026-11-25T17:00:00Z"' in write_seal(SEAL)
    assert SEAL.sealed_at == datetime(2026, 11, 25, 17, tzinfo=UTC)


@pytest.mark.parametrize("signer", ["", "  "])
def test_a_key_without_a_signer_is_refused(signer: str) -> None:
    with pytest.raises(InputError, match="needs both a key and the name"):
        make_seal(FILES, CHAIN, SEALED_AT, KEY, signer)


def test_a_signer_without_a_key_is_refused() -> None:
    with pytest.raises(InputError, match="needs both a key and the name"):
        make_seal(FILES, CHAIN, SEALED_AT, None, "Invented Workshop")


@pytest.mark.parametrize("signer", ["a\x1b[2Jb", "a\nb", "a\u202eb", "a\u2028b", "x" * 201])
def test_a_signer_that_could_disguise_itself_is_refused(signer: str) -> None:
    with pytest.raises(InputError, match=r"cannot be sealed: 'signer'"):
        make_seal(FILES, CHAIN, SEALED_AT, KEY, signer)


@pytest.mark.parametrize(
    ("files", "at"),
    [
        ({"record.pdf": b""}, SEALED_AT),
        (sealed(), SEALED_AT),
        (FILES, datetime(2026, 11, 25)),
    ],
    ids=["no record", "sealed already", "no time zone"],
)
def test_what_only_a_bug_would_seal_is_refused(files: dict[str, bytes], at: datetime) -> None:
    with pytest.raises(ValueError, match="what is sealed has a record"):
        make_seal(files, CHAIN, at)


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        (b'"kind":"seal of a tensionear record"', b'"kind":"something"', "no seal: 'kind'"),
        (b'"format_version":1', b'"format_version":0', "no seal: 'format_version'"),
        (b'"format_version":1', b'"format_version":2', "format version 2, newer than 1: a newer tensionear"),
        (b'"number":3', b'"number":0', r"no seal: 'chain\.number'"),
        (b'"signature":null', b'"signature":{}', r"no seal: 'signature\.public_key'"),
        (b'"signature":null', b'"signature":null,"surprise":1', "no seal: 'surprise'"),
        (b'{"chain"', b'{ "chain"', "not in the form"),
        (b"}\n", b"}", "not in the form"),
        (b'"sealed_at":"2026-11-25T17:00:00Z"', b'"sealed_at":"2026-11-25T17:00:00"', "no seal: 'sealed_at'"),
    ],
)
def test_what_is_no_seal_is_refused(old: bytes, new: bytes, why: str) -> None:
    content = write_seal(SEAL)
    assert old in content
    with pytest.raises(BundleError, match=why):
        read_seal(content.replace(old, new))


@pytest.mark.parametrize("content", [b"", b"[]\n", b"null\n", b"1\n", b'"seal"\n', b"{}\n", b"\xff\n"])
def test_bytes_that_are_no_seal_at_all_are_refused(content: bytes) -> None:
    with pytest.raises(BundleError, match=r"no seal|no JSON"):
        read_seal(content)
