"""A file is there whole or not at all."""

import errno
import os
import stat
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tensionear.errors import InputError
from tensionear.job.whole_file import write_whole_file


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def test_a_file_is_written_piece_by_piece_and_nothing_else_is_left(tmp_path: Path) -> None:
    write_whole_file(tmp_path / "file", [b"one", b"two"])
    assert contents(tmp_path) == {"file": b"onetwo"}


def test_what_is_there_is_not_overwritten_unless_told(tmp_path: Path) -> None:
    write_whole_file(tmp_path / "file", [b"old"])
    with pytest.raises(InputError, match="is there already"):
        write_whole_file(tmp_path / "file", [b"new"])
    assert contents(tmp_path) == {"file": b"old"}
    write_whole_file(tmp_path / "file", [b"new"], overwrite=True)
    assert contents(tmp_path) == {"file": b"new"}


def test_a_link_that_leads_nowhere_counts_as_there(tmp_path: Path) -> None:
    (tmp_path / "file").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(InputError, match="is there already"):
        write_whole_file(tmp_path / "file", [b"new"])
    assert contents(tmp_path) == {}


def test_another_process_that_was_faster_is_not_overwritten(tmp_path: Path) -> None:
    def slow() -> Iterator[bytes]:
        (tmp_path / "file").write_bytes(b"the other's")
        yield b"mine"

    with pytest.raises(InputError, match="is there already"):
        write_whole_file(tmp_path / "file", slow())
    assert contents(tmp_path) == {"file": b"the other's"}


@pytest.mark.parametrize("there_already", [False, True])
def test_a_full_disk_leaves_what_was_there_before(
    there_already: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    if there_already:
        (tmp_path / "file").write_bytes(b"old")
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match=r"cannot be written \(No space left on device\): is there room"):
        write_whole_file(tmp_path / "file", [b"new"], overwrite=there_already)
    assert contents(tmp_path) == ({"file": b"old"} if there_already else {})


def test_an_interruption_leaves_nothing_half(tmp_path: Path) -> None:
    def interrupted() -> Iterator[bytes]:
        yield b"half"
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_whole_file(tmp_path / "file", interrupted())
    assert contents(tmp_path) == {}


def test_a_memory_stick_without_hard_links_will_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_links(*_: object) -> None:
        raise PermissionError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(os, "link", no_links)
    write_whole_file(tmp_path / "file", [b"content"])
    with pytest.raises(InputError, match="is there already"):
        write_whole_file(tmp_path / "file", [b"new"])
    assert contents(tmp_path) == {"file": b"content"}


@pytest.mark.skipif(sys.platform == "win32", reason="Windows knows no such permissions")
def test_permissions_are_those_asked_for_from_the_first_byte(tmp_path: Path) -> None:
    seen = []

    def watched() -> Iterator[bytes]:
        (beside,) = tmp_path.glob(".*.part")
        seen.append(stat.S_IMODE(beside.stat().st_mode))
        yield b"secret"

    write_whole_file(tmp_path / "file", watched(), mode=0o600)
    assert seen == [0o600]
    assert stat.S_IMODE((tmp_path / "file").stat().st_mode) == 0o600


@pytest.mark.parametrize("name", ["missing/file", "nu\0ll", "x" * 300, "."])
def test_a_place_that_cannot_be_written_is_told(name: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"cannot be written|is there already"):
        write_whole_file(tmp_path / name, [b"content"])
