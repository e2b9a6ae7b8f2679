"""The container: read by others' programs, the same bytes every time, and no way in for what is not a bundle."""

import io
import random
import re
import shutil
import subprocess
import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tensionear.errors import BundleError, InputError
from tensionear.job.bundle import bundle_file
from tensionear.job.bundle.bundle_file import pack, read_bundle, unpack, write_bundle
from tensionear.job.bundle.bundle_names import FILES as TOP_FILES
from tensionear.job.bundle.bundle_names import FOLDERS
from tests.job.small_bundle import FILES

PACKED = pack(FILES)
NAMES = st.sampled_from(sorted(TOP_FILES)) | st.builds(
    "{}/{}".format,
    st.sampled_from(sorted(FOLDERS)),
    st.text("abcxyz0189-_ äßλж", min_size=1).map("a{}z".format),
)


def packed_by_zipfile(
    files: dict[str, bytes] | list[tuple[zipfile.ZipInfo | str, bytes]], **options: int
) -> bytes:
    sink = io.BytesIO()
    with zipfile.ZipFile(sink, "w", **options) as container:  # type: ignore[call-overload]
        for name, content in files.items() if isinstance(files, dict) else files:
            container.writestr(name, content)
    return sink.getvalue()


def entry(name: str, **attributes: object) -> zipfile.ZipInfo:
    made = zipfile.ZipInfo(name)
    for attribute, value in attributes.items():
        setattr(made, attribute, value)
    return made


def test_an_independent_reader_finds_the_files_stored_and_dated_1980() -> None:
    with zipfile.ZipFile(io.BytesIO(PACKED)) as container:
        assert container.testzip() is None
        assert {info.filename: container.read(info) for info in container.infolist()} == FILES
        assert {info.compress_type for info in container.infolist()} == {zipfile.ZIP_STORED}
        assert {info.date_time for info in container.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert {info.external_attr for info in container.infolist()} == {0o100644 << 16}
        assert {info.extra + info.comment for info in container.infolist()} == {b""}


@pytest.mark.skipif(shutil.which("unzip") is None, reason="there is no unzip here")
def test_unzip_unpacks_it_without_complaint(tmp_path: Path) -> None:
    write_bundle(tmp_path / "job.zip", FILES)
    told = subprocess.run(
        ["unzip", "-o", "job.zip", "-d", "out"], cwd=tmp_path, capture_output=True, text=True,
        env={"LC_ALL": "C.UTF-8", "PATH": "/usr/bin:/bin"},
    )  # fmt: skip
    assert (told.returncode, told.stderr) == (0, "")
    unpacked = {
        path.relative_to(tmp_path / "out").as_posix(): path.read_bytes()
        for path in (tmp_path / "out").rglob("*")
        if path.is_file()
    }
    assert unpacked == FILES


def test_the_bytes_are_those_that_the_specification_asks_for() -> None:
    # Put together by hand from APPNOTE 4.3.7, 4.3.12 and 4.3.16; CBF43926 is the well-known check value of CRC-32
    # for "123456789" (from memory).
    name, content = b"record.json", b"123456789"
    common = "14 0000 0800 0000 0021 0026 39 F4 CB09 00 00 0009 00 00 000B 0000 00"
    head = "50 4B 03 04" + common
    line = "50 4B 01 0214 03" + common + "00 0000 0000 0000 00 A4 8100 00 00 00"
    end = "50 4B 05 0600 0000 0001 0001 0039 00 00 0032 00 00 0000 00"
    by_hand = bytes.fromhex(head) + name + content + bytes.fromhex(line) + name + bytes.fromhex(end)
    assert pack({"record.json": content}) == by_hand


@given(st.dictionaries(NAMES, st.binary(max_size=50), max_size=6), st.randoms(use_true_random=False))
def test_what_was_packed_is_unpacked_and_its_order_does_not_matter(
    files: dict[str, bytes], chance: random.Random
) -> None:
    files = {name: files[name] for name in {name.casefold(): name for name in files}.values()}
    shuffled = list(files.items())
    chance.shuffle(shuffled)
    packed = pack(dict(shuffled))
    found = unpack(packed)
    assert found.files == files
    assert found.differences == ()
    assert pack(found.files) == packed


def test_what_was_written_is_read(tmp_path: Path) -> None:
    write_bundle(tmp_path / "job.zip", FILES)
    assert read_bundle(tmp_path / "job.zip") == FILES
    assert (tmp_path / "job.zip").read_bytes() == PACKED


def test_every_single_bit_that_is_flipped_shows() -> None:
    passed = []
    for position in range(len(PACKED)):
        for bit in range(8):
            damaged = bytearray(PACKED)
            damaged[position] ^= 1 << bit
            try:
                if not unpack(bytes(damaged)).differences:
                    passed.append((position, bit))
            except BundleError:
                pass
    assert passed == []


def test_every_cut_and_every_byte_more_shows() -> None:
    for length in range(len(PACKED)):
        with pytest.raises(BundleError, match=r"breaks off|empty|no \.zip|should end|promises|follow"):
            unpack(PACKED[:length])
        with pytest.raises(
            BundleError, match=r"should end|promises|damaged|too many|breaks off|follow|end is not"
        ):
            unpack(PACKED[:length] + b"\0" + PACKED[length:])


def test_the_place_of_a_changed_file_is_told(tmp_path: Path) -> None:
    damaged = PACKED.replace(b"fLaC another", b"fLaC anothex")
    (tmp_path / "job.zip").write_bytes(damaged)
    with pytest.raises(
        BundleError, match=r"'sound/2\.flac' does not fit the checksum in its head: .*\(at byte \d+\)"
    ):
        read_bundle(tmp_path / "job.zip")
    found = unpack(damaged)
    assert [difference.name for difference in found.differences] == ["sound/2.flac"] * 2
    head = PACKED.index(b"fLaC another") - len("sound/2.flac") - 30
    assert head + 14 <= found.differences[0].offset < head + 18
    assert {name for name in FILES if found.files[name] != FILES[name]} == {"sound/2.flac"}


@pytest.mark.parametrize(
    ("offset", "place"),
    [(10, "head of"), (-1 - 22 - 12 - 4, "line in the directory of"), (-22 + 8, "the container's end")],
)
def test_a_changed_date_or_attribute_is_told_with_its_entry(offset: int, place: str) -> None:
    damaged = bytearray(PACKED)
    damaged[offset] ^= 1
    (difference,) = unpack(bytes(damaged)).differences
    assert difference.offset == offset % len(PACKED)
    assert place in difference.sentence


HOSTILE = {
    "../evil": "there may be", "/etc/passwd": "there may be", "C:/evil": "there may be", "record.JSON": "may be",
    "sound/../../evil": "another folder", "sound/..": "another folder", "sound/a/b.flac": "another folder",
    "sound/a\\b": "another folder", "sound\\..\\evil": "there may be", "sound/C:evil": "another folder",
    "sound//a": "another folder", "sound/": "is a folder", "sound": "there may be",
    "evil.exe": "there may be", "sound/a\n.flac": "invisible", "sound/a\u202egpj.exe": "invisible",
    "sound/a\u0308.flac": "composed", "sound/nul.flac": "device", "sound/COM1": "device", "sound/a.": "cannot unpack",
    "sound/a ": "cannot unpack", "sound/.a": "cannot unpack", "sound/a?": "cannot unpack",
    "sound/" + "ä" * 98: "longer than 200 bytes", "./record.json": "there may be", "Sound/a": "there may be",
}  # fmt: skip


@pytest.mark.parametrize(("name", "why"), HOSTILE.items(), ids=ascii)
def test_a_name_that_could_do_harm_is_refused_in_reading_and_in_writing(name: str, why: str) -> None:
    with pytest.raises(InputError, match=why) as caught:
        pack({name: b""})
    assert not isinstance(caught.value, BundleError)
    with pytest.raises(BundleError, match=rf"{why}|name of \d+ bytes"):
        unpack(packed_by_zipfile([(entry("sound/x", filename=name, create_system=0), b"evil")]))


@given(st.text())
def test_no_name_at_all_breaks_reading(name: str) -> None:
    try:
        made = packed_by_zipfile({f"sound/{name}": b"evil"})
    except UnicodeEncodeError:
        return
    try:
        found = unpack(made)
    except BundleError:
        return
    # A plain name: the container is zipfile's and not ours, so something has to be told.
    assert found.differences
    (only,) = found.files
    assert re.fullmatch(r"sound/[^/\\:\x00-\x1f]+", only)
    assert only != "sound/.."


def test_a_lone_surrogate_in_a_name_is_refused() -> None:
    with pytest.raises(InputError, match="invisible"):
        pack({"sound/\ud800": b""})


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("sound/a.flac", "sound/A.flac"),
        ("photos/ß", "photos/ss"),
        ("photos/Ä", "photos/ä"),
        ("photos/ſ", "photos/s"),
    ],
)
def test_two_names_that_are_one_on_some_systems_are_refused(first: str, second: str) -> None:
    with pytest.raises(InputError, match="one name on many systems"):
        pack({first: b"", second: b""})
    with pytest.raises(BundleError, match="one name on many systems"):
        unpack(packed_by_zipfile({first: b"", second: b""}))


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_one_name_twice_is_refused() -> None:
    with pytest.raises(BundleError, match="one name on many systems"):
        unpack(packed_by_zipfile([("record.json", b"good"), ("record.json", b"evil")]))


@pytest.mark.parametrize("method", [zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_bomb_is_refused_without_being_unpacked(method: int) -> None:
    bomb = packed_by_zipfile({"record.json": bytes(20_000_000)}, compression=method)
    assert len(bomb) < 30_000
    with pytest.raises(BundleError, match=r"'record\.json' is compressed; .* no small file can swell"):
        unpack(bomb)


def test_a_bundle_within_a_bundle_is_only_bytes() -> None:
    bomb = packed_by_zipfile({"record.json": bytes(1_000_000)}, compression=zipfile.ZIP_DEFLATED)
    nested = pack({"sound/inner.zip": bomb})
    assert unpack(nested).files == {"sound/inner.zip": bomb}
    nested_at_the_end = pack({"sound/z": PACKED})
    assert unpack(nested_at_the_end).files == {"sound/z": PACKED}


def test_a_size_that_is_only_promised_is_refused() -> None:
    for size in (10**6, 2**31, 2**32 - 1):
        forged = PACKED.replace((13).to_bytes(4, "little") * 2, size.to_bytes(4, "little") * 2)
        assert forged != PACKED
        with pytest.raises(BundleError, match="promises"):
            unpack(forged)


def test_entries_that_share_their_bytes_are_refused() -> None:
    one = pack({"sound/a": bytes(1000)})
    line = one[one.index(b"PK\1\2") : -22]
    lines = b"".join(line.replace(b"sound/a", b"sound/" + bytes([letter])) for letter in range(97, 123))
    end = bytearray(one[-22:])
    end[8:12] = (26).to_bytes(2, "little") * 2
    end[12:16] = len(lines).to_bytes(4, "little")
    with pytest.raises(BundleError, match="promises"):
        unpack(one[: one.index(b"PK\1\2")] + lines + bytes(end))


def test_too_many_files_are_refused_in_reading_and_in_writing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bundle_file, "MOST_FILES", 5)
    with pytest.raises(InputError, match="6 files are more than 5"):
        pack(FILES)
    with pytest.raises(BundleError, match="names 6 files, more than 5"):
        unpack(PACKED)


def test_too_many_bytes_are_refused_in_reading_and_in_writing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_bundle(tmp_path / "job.zip", FILES)
    monkeypatch.setattr(bundle_file, "LARGEST_BUNDLE_BYTES", len(PACKED))
    assert read_bundle(tmp_path / "job.zip") == FILES
    monkeypatch.setattr(bundle_file, "LARGEST_BUNDLE_BYTES", len(PACKED) - 1)
    with pytest.raises(InputError, match=f"would have {len(PACKED)} bytes, more than"):
        pack(FILES)
    with pytest.raises(BundleError, match=r"job\.zip: it has \d+ bytes, more than"):
        read_bundle(tmp_path / "job.zip")


def test_a_huge_file_is_refused_before_it_is_read(tmp_path: Path) -> None:
    with (tmp_path / "huge.zip").open("wb") as file:
        file.truncate(10**12)  # sparse: takes no room on disk, and would not fit into memory
    with pytest.raises(BundleError, match="it has 1000000000000 bytes, more than 2000000000"):
        read_bundle(tmp_path / "huge.zip")


@pytest.mark.parametrize(
    ("made", "why"),
    [
        ([(entry("record.json", external_attr=0o120777 << 16, create_system=3), b"/etc/passwd")], "no plain file"),
        ([(entry("record.json", external_attr=0o040755 << 16, create_system=3), b"")], "no plain file"),
        ([(entry("record.json", extra=b"\x99\x99\0\0"), b"")], "notes of another program"),
        ([(entry("record.json", comment=b"hello"), b"")], "notes of another program"),
        ([("sound/b", b""), ("sound/a", b"")], "packed anew"),
    ],
)  # fmt: skip
def test_what_other_programs_put_in_is_refused(
    made: list[tuple[zipfile.ZipInfo | str, bytes]], why: str
) -> None:
    with pytest.raises(BundleError, match=why):
        unpack(packed_by_zipfile(made))


def test_an_encrypted_entry_is_refused() -> None:
    at = PACKED.index(b"PK\1\2") + 8
    with pytest.raises(BundleError, match="is encrypted"):
        unpack(PACKED[:at] + bytes([PACKED[at] | 1]) + PACKED[at + 1 :])


def test_the_same_files_stored_by_another_program_are_told_apart() -> None:
    found = unpack(packed_by_zipfile(dict(sorted(FILES.items()))))
    assert found.files == FILES
    assert {difference.name for difference in found.differences} == set(FILES)


@pytest.mark.skipif(shutil.which("zip") is None, reason="there is no zip here")
@pytest.mark.parametrize(
    "options", [[], ["-0"], ["-0", "-X"], ["-0", "-X", "-D"], ["-y"], ["-P", "x"], ["-fz"]]
)
def test_what_zip_packed_is_no_bundle(options: list[str], tmp_path: Path) -> None:
    for name, content in FILES.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(content)
    (tmp_path / "photos" / "link").symlink_to("/etc/passwd")
    made = subprocess.run(["zip", "-r", *options, "job.zip", "."], cwd=tmp_path, capture_output=True)
    assert made.returncode == 0, made.stderr
    with pytest.raises(BundleError, match=r"job\.zip"):
        read_bundle(tmp_path / "job.zip")


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "is empty"),
        (b"%PDF-1.7 no bundle at all, but a file of some length", r"no \.zip"),
        (b"\0" * 100, r"no \.zip"),
        (PACKED[:-1], "breaks off at byte"),
        (PACKED + b"more", "4 bytes follow its end"),
        (b"#!/bin/sh\n" + PACKED, "should end at byte"),
        (PACKED + PACKED, "should end at byte"),
        (PACKED[:-2] + b"\x05\0hello", "5 bytes follow its end"),
    ],
)
def test_what_is_no_bundle_is_refused_with_the_likely_slip(content: bytes, why: str, tmp_path: Path) -> None:
    (tmp_path / "job.zip").write_bytes(content)
    with pytest.raises(BundleError, match=rf"job\.zip: .*{why}"):
        read_bundle(tmp_path / "job.zip")


@given(st.binary(max_size=300))
def test_no_bytes_at_all_break_reading(noise: bytes) -> None:
    for content in (noise, noise + PACKED[-22:], PACKED[:100] + noise + PACKED[100 + len(noise) :]):
        try:
            found = unpack(content)
        except BundleError:
            continue
        assert content == PACKED or found.differences or pack(found.files) == content


@pytest.mark.parametrize("name", ["missing.zip", "folder", "nu\0ll"])
def test_a_file_that_cannot_be_read_is_wrong_input_and_no_damage(name: str, tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(InputError, match=r"cannot be read .* is the name right") as caught:
        read_bundle(tmp_path / name)
    assert not isinstance(caught.value, BundleError)
