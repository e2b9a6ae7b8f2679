"""Proof: whatever is changed in a bundle or in a chain of them is found, as far as that is possible at all."""

import json
import random
from datetime import timedelta

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from tensionear.errors import BundleError
from tensionear.job.bundle.bundle_file import pack, unpack
from tensionear.job.bundle.chain import ChainDocument
from tensionear.job.bundle.seal import Seal, make_seal
from tensionear.job.bundle.seal_check import SealFault, SealFinding, check_chain, check_seal
from tensionear.job.bundle.signing import fingerprint
from tensionear.job.canonical_json import read_canonical, write_canonical
from tests.job.small_bundle import CHAIN, FILES, KEY, OTHER_KEY, SEALED_AT, sealed

SIGNED = sealed(key=KEY)
UNSIGNED = sealed()


def faults(found: list[SealFinding]) -> list[tuple[SealFault, str | None]]:
    return [(finding.fault, finding.name) for finding in found]


def edited_seal(bundle: dict[str, bytes], /, **changes: object) -> dict[str, bytes]:
    return {**bundle, "seal.json": write_canonical({**read_canonical(bundle["seal.json"]), **changes})}


def test_what_is_as_it_was_sealed_has_no_finding() -> None:
    assert check_seal(UNSIGNED) == []
    assert check_seal(SIGNED) == []
    assert check_seal(SIGNED, KEY.public_key()) == []
    assert check_seal(unpack(pack(SIGNED)).files, KEY.public_key()) == []


@pytest.mark.parametrize("files", [UNSIGNED, SIGNED], ids=["unsigned", "signed"])
def test_a_flipped_bit_at_any_byte_of_a_bundle_is_found(files: dict[str, bytes]) -> None:
    packed = pack(files)
    chance = random.Random(5)  # noqa: S311 - of a test
    passed = []
    for position in range(len(packed)):
        damaged = bytearray(packed)
        damaged[position] ^= 1 << chance.randrange(8)
        try:
            found = unpack(bytes(damaged))
        except BundleError:
            continue
        if not found.differences and not check_seal(found.files):
            passed.append(position)
    assert passed == []


@pytest.mark.parametrize("files", [UNSIGNED, SIGNED], ids=["unsigned", "signed"])
def test_a_flipped_bit_at_any_byte_of_any_file_is_found_by_the_seal_alone(files: dict[str, bytes]) -> None:
    # As if the one who changed it had packed the bundle anew: the container is flawless.
    passed = []
    for name, content in files.items():
        for position in range(len(content)):
            for bit in range(8):
                damaged = bytearray(content)
                damaged[position] ^= 1 << bit
                if not check_seal({**files, name: bytes(damaged)}):
                    passed.append((name, position, bit))
    assert passed == []


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_is_missing_changed_or_longer_is_found(name: str) -> None:
    is_record = name == "record.json"
    missing = {each: content for each, content in SIGNED.items() if each != name}
    fault = SealFault.RECORD_MISSING if is_record else SealFault.FILE_MISSING
    assert faults(check_seal(missing)) == [(fault, name)]
    fault = SealFault.RECORD_CHANGED if is_record else SealFault.FILE_CHANGED
    assert faults(check_seal({**SIGNED, name: SIGNED[name] + b"\0"})) == [(fault, name)]


def test_a_file_that_was_put_in_is_found() -> None:
    (finding,) = check_seal({**SIGNED, "photos/evil.png": b""})
    assert (finding.fault, finding.name) == (SealFault.FILE_EXTRA, "photos/evil.png")
    assert finding.sentence == "'photos/evil.png' was not there when it was sealed"


def test_swapped_files_are_found_and_each_named() -> None:
    first, second = check_seal(
        {**SIGNED, "sound/1.flac": FILES["sound/2.flac"], "sound/2.flac": FILES["sound/1.flac"]}
    )
    assert first.sentence == (
        "'sound/1.flac' is not the file that was sealed: it holds what 'sound/2.flac' held when it was sealed"
    )
    assert (second.fault, second.name) == (SealFault.FILE_CHANGED, "sound/2.flac")


def test_a_change_without_a_change_of_length_is_told_so() -> None:
    (finding,) = check_seal({**SIGNED, "plucks.csv": b"pluck\n2\n"})
    assert finding.sentence.endswith("it still has 8 bytes, but others")


def test_a_missing_seal_is_found() -> None:
    assert faults(check_seal(FILES)) == [(SealFault.SEAL_MISSING, "seal.json")]


def test_an_unreadable_seal_is_a_finding_and_no_exception() -> None:
    (finding,) = check_seal({**FILES, "seal.json": b"nonsense"})
    assert finding.fault == SealFault.SEAL_UNREADABLE
    assert "no JSON" in finding.sentence


def test_an_edited_record_with_recomputed_hashes_is_found_where_it_is_signed() -> None:
    edited = sealed({**FILES, "record.json": b'{"job":"edited"}\n'})
    signature = json.loads(SIGNED["seal.json"])["signature"]
    forged = edited_seal(edited, signature=signature)
    assert faults(check_seal(forged)) == [(SealFault.SIGNATURE_WRONG, "seal.json")]
    assert faults(check_seal(edited, KEY.public_key())) == [(SealFault.NOT_SIGNED, "seal.json")]
    again = sealed({**FILES, "record.json": b'{"job":"edited"}\n'}, OTHER_KEY)
    assert faults(check_seal(again, KEY.public_key())) == [(SealFault.OTHER_KEY, "seal.json")]


def test_what_no_seal_can_show_is_not_shown() -> None:
    # As the docstrings say: whoever makes a seal of his own passes, as long as nobody expects a key.
    edited = {**FILES, "record.json": b'{"job":"edited"}\n'}
    assert check_seal(sealed(edited)) == []
    assert check_seal(sealed(edited, OTHER_KEY)) == []


def test_another_key_than_expected_is_named_beside_the_expected_one() -> None:
    (finding,) = check_seal(SIGNED, OTHER_KEY.public_key())
    assert finding.fault == SealFault.OTHER_KEY
    assert fingerprint(KEY.public_key()) in finding.sentence
    assert fingerprint(OTHER_KEY.public_key()) in finding.sentence


@pytest.mark.parametrize("changed", ["signer", "fingerprint", "public_key", "value"])
def test_every_part_of_a_signature_is_bound(changed: str) -> None:
    signature = json.loads(SIGNED["seal.json"])["signature"]
    other = json.loads(sealed(key=OTHER_KEY, signer="Another Invented Workshop")["seal.json"])["signature"]
    forged = edited_seal(SIGNED, signature={**signature, changed: other[changed]})
    assert (SealFault.SIGNATURE_WRONG, "seal.json") in faults(check_seal(forged))


def test_a_fingerprint_of_another_key_is_found_even_when_it_is_signed() -> None:
    content = json.loads(SIGNED["seal.json"])
    content["signature"]["fingerprint"] = fingerprint(OTHER_KEY.public_key())
    del content["signature"]["value"]
    content["signature"]["value"] = KEY.sign(write_canonical(content)).hex()
    assert faults(check_seal(edited_seal(SIGNED, **content))) == [(SealFault.SIGNATURE_WRONG, "seal.json")]


@pytest.mark.parametrize(
    "change",
    [
        {"sealed_at": "2026-11-25T17:00:01Z"},
        {"chain": {**CHAIN.model_dump(), "number": 4}},
        {"chain": {**CHAIN.model_dump(), "archive_id": "another"}},
        {"chain_sha256": "0" * 64},
    ],
    ids=["time", "number", "archive", "hash"],
)
def test_an_edited_line_of_the_seal_is_found(change: dict[str, object]) -> None:
    assert faults(check_seal(edited_seal(UNSIGNED, **change))) == [(SealFault.SEAL_CHANGED, "seal.json")]
    assert (SealFault.SIGNATURE_WRONG, "seal.json") in faults(check_seal(edited_seal(SIGNED, **change)))


def test_a_signature_that_was_taken_off_is_found_only_if_one_is_expected() -> None:
    stripped = edited_seal(SIGNED, signature=None)
    assert check_seal(stripped) == []
    (finding,) = check_seal(stripped, KEY.public_key())
    assert finding.fault == SealFault.NOT_SIGNED
    assert "anybody could have made it" in finding.sentence


def test_a_name_in_a_seal_cannot_play_with_the_terminal() -> None:
    content = json.loads(UNSIGNED["seal.json"])
    content["files"]["sound/\x1b[2J"] = content["files"]["sound/1.flac"]
    found = check_seal(edited_seal(UNSIGNED, **content))
    assert all(finding.sentence.isprintable() for finding in found)
    assert (SealFault.FILE_MISSING, "sound/\x1b[2J") in faults(found)
    content["files"]["sound/\x1b[2J"] = 7
    (finding,) = check_seal(edited_seal(UNSIGNED, **content))
    assert finding.fault == SealFault.SEAL_UNREADABLE
    assert finding.sentence.isprintable()
    elsewhere = chained(1, archive_id="\x1b[2J")
    (finding,) = check_chain([*chained(1), *elsewhere])
    assert finding.sentence.isprintable()


@pytest.mark.parametrize(
    ("number", "before", "why"),
    [(1, "5" * 64, "record 1 names a record"), (2, None, "record 2 does not name a")],
)
def test_only_the_first_record_has_none_before_it(number: int, before: str | None, why: str) -> None:
    chain = ChainDocument(archive_id="invented", number=number, previous_record_sha256=before)
    seal = make_seal(FILES, chain, SEALED_AT)
    (finding,) = check_seal({**FILES, "seal.json": write_canonical(seal.model_dump(mode="json"))})
    assert finding.fault == SealFault.PREDECESSOR_WRONG
    assert why in finding.sentence


def chained(n: int, *, archive_id: str = "invented", key: Ed25519PrivateKey | None = None) -> list[Seal]:
    seals: list[Seal] = []
    for number in range(1, n + 1):
        before = seals[-1].record_sha256 if seals else None
        chain = ChainDocument(archive_id=archive_id, number=number, previous_record_sha256=before)
        record = f"{archive_id} {number} {before}".encode()
        seals.append(make_seal({"record.json": record}, chain, SEALED_AT, key, "Invented" if key else ""))
    return seals


def test_a_whole_chain_has_no_finding_in_whatever_order() -> None:
    seals = chained(6)
    known = {number: seals[number - 1].record_sha256 for number in (1, 4, 6)}
    assert check_chain(seals, known) == []
    random.Random(5).shuffle(seals)  # noqa: S311 - of a test
    assert check_chain([*seals, seals[0]], known) == []
    assert check_chain([]) == []


@pytest.mark.parametrize("removed", [1, 2, 4, 5])
def test_a_record_removed_from_within_a_chain_is_found(removed: int) -> None:
    seals = [seal for seal in chained(6) if seal.chain.number != removed]
    (finding,) = check_chain(seals)
    assert finding == SealFinding(SealFault.RECORDS_MISSING, None, f"record {removed} is missing")


def test_several_missing_records_are_told_together() -> None:
    seals = chained(9)
    assert [finding.sentence for finding in check_chain([seals[2], seals[3], seals[8]])] == [
        "records 1 to 2 are missing",
        "records 5 to 8 are missing",
    ]


def test_a_removed_newest_record_is_found_only_if_it_is_known_from_elsewhere() -> None:
    seals = chained(6)
    assert check_chain(seals[:5]) == []
    (finding,) = check_chain(seals[:5], {6: seals[5].record_sha256})
    assert finding.sentence == "record 6 is known from elsewhere and missing"
    assert check_chain([], {6: seals[5].record_sha256}) == [finding]


def test_numbers_that_were_closed_up_after_a_removal_are_found() -> None:
    seals = chained(6)
    moved = [
        seal.model_copy(update={"chain": seal.chain.model_copy(update={"number": seal.chain.number - 1})})
        for seal in seals[3:]
    ]
    assert faults(check_chain([*seals[:2], *moved])) == [(SealFault.PREDECESSOR_WRONG, None)]


def test_a_replaced_record_does_not_fit_its_successor() -> None:
    seals = chained(6)
    replaced = make_seal({"record.json": b"replaced"}, seals[2].chain, SEALED_AT)
    (finding,) = check_chain([*seals[:2], replaced, *seals[3:]])
    assert finding.sentence == "record 4 names another record 3 than the one that is there"


def test_a_replaced_newest_record_is_found_only_by_its_known_hash() -> None:
    seals = chained(6)
    replaced = make_seal({"record.json": b"replaced"}, seals[5].chain, SEALED_AT)
    assert check_chain([*seals[:5], replaced]) == []
    (finding,) = check_chain([*seals[:5], replaced], {6: seals[5].record_sha256})
    assert finding.fault == SealFault.NOT_THE_KNOWN_ONE


def test_a_number_that_was_given_twice_is_found() -> None:
    seals = chained(3)
    other = make_seal({"record.json": b"other"}, seals[2].chain, SEALED_AT + timedelta(days=1))
    (finding,) = check_chain([*seals, other])
    assert finding.fault == SealFault.NUMBER_TWICE
    assert "2 different records have number 3" in finding.sentence


def test_a_record_of_another_archive_is_found() -> None:
    (finding,) = check_chain([*chained(3), chained(2, archive_id="elsewhere")[1]])
    assert finding.fault == SealFault.OTHER_ARCHIVE
    assert finding.sentence == "record 2 of archive 'elsewhere' is none of archive 'invented'"
