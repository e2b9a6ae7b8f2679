"""Full disks and corrupt files, while plucks are kept, copied, brought over: nothing half, nothing written over."""

import shutil
import subprocess
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from tensionear.errors import ArchiveError, InputError
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.checking import check
from tensionear.job.archive.copying import back_up, restore
from tensionear.job.archive.opening import open_archive
from tensionear.job.archive.opening_to_read import open_to_read
from tensionear.job.archive.salvage import salvage
from tensionear.job.log import NoteAdded, PassBegun
from tensionear.job.passes import PassKind
from tensionear.job.sha256 import sha256_of
from tests.job.archive.damage import NAME, make_archive, overwrite_pages
from tests.job.archive.kept import with_sound
from tests.job.invented import invented_details, invented_pluck, invented_setup


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 2 MB."""
    disk = tmp_path / "small disk"
    disk.mkdir()
    if not shutil.which("mount"):
        pytest.skip("there is no mount")
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=2m", "none", disk], capture_output=True)
    if mounted.returncode:
        pytest.skip("only root may mount a small disk")
    yield disk
    subprocess.run(["umount", disk], check=True)


def keep(archive: Archive, number: int) -> None:
    sound = number.to_bytes(4, "big") * 10_000
    archive.keep_pluck("1", with_sound(invented_pluck(118.0 + 0.001 * number), sound), sound)


def test_plucks_go_on_after_room_is_made_on_a_full_disk(small_disk: Path) -> None:
    path = small_disk / "archive.sqlite"
    ballast = small_disk / "something else"
    ballast.write_bytes(bytes(600_000))
    with open_archive(str(path)) as archive:
        archive.add_setup(invented_setup())
        archive.open_job(NAME, invented_details(), number="1")
        archive.write_down("1", lambda _: PassBegun(pass_number=1, pass_kind=PassKind.FINAL_SETTING))
        n_shown = 0

        def fill_up() -> None:
            nonlocal n_shown
            while True:
                keep(archive, n_shown + 1)
                n_shown += 1

        with pytest.raises(ArchiveError, match=r"the disk .*nothing was written"):
            fill_up()
        assert n_shown > 3
        assert len(archive.job("1").state.plucks) == n_shown
        ballast.unlink()
        for number in range(n_shown + 1, n_shown + 4):
            keep(archive, number)
        plucks = archive.job("1").state.plucks
        assert [each.number for each in plucks] == list(range(1, n_shown + 4))
        for each in plucks:
            assert sha256_of(archive.content(each.pluck.sound.flac_sha256)) == each.pluck.sound.flac_sha256
    assert check(str(path)) == []


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("whole") / "archive.sqlite"
    make_archive(path, n_jobs=40)
    assert path.stat().st_size > 2_000_000
    return path


def test_a_backup_that_does_not_fit_leaves_nothing(whole: Path, small_disk: Path) -> None:
    with open_to_read(str(whole)) as archive:
        with pytest.raises(ArchiveError, match="the disk is full"):
            back_up(archive, small_disk / "backup.sqlite")
        with pytest.raises(ArchiveError, match="the disk is full"):
            restore(archive, str(small_disk / "restored.sqlite"))
    assert list(small_disk.iterdir()) == []


def test_what_is_salvaged_and_does_not_fit_leaves_nothing(whole: Path, small_disk: Path) -> None:
    with pytest.raises(ArchiveError, match="the disk is full"):
        salvage(whole, small_disk / "salvaged.sqlite")
    assert list(small_disk.iterdir()) == []


@pytest.mark.parametrize("seed", range(10))
def test_a_corrupt_file_is_never_written_over(seed: int, whole: Path, tmp_path: Path) -> None:
    """Nothing that only looks, copies or is refused may change a file that somebody may still salvage."""
    path = tmp_path / "archive.sqlite"
    overwrite_pages(whole, path, share=0.02, seed=seed)
    if seed == 9:
        path.write_bytes(bytes(100) + whole.read_bytes()[100:])
    before = (path.read_bytes(), path.stat().st_mtime_ns)
    with suppress(ArchiveError):
        check(str(path), quick=True)
    with suppress(ArchiveError), open_to_read(str(path)) as archive:
        back_up(archive, tmp_path / "backup.sqlite")
    with pytest.raises((InputError, ArchiveError)), open_to_read(str(whole)) as archive:
        back_up(archive, path)
    with pytest.raises(ArchiveError), open_to_read(str(whole)) as archive:
        restore(archive, str(path))
    salvage(path, tmp_path / "salvaged.sqlite")
    with suppress(ArchiveError, InputError), open_archive(str(path)) as archive:
        archive.write_down("1", lambda _: _refuse())
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


def _refuse() -> NoteAdded:
    raise InputError("invented refusal")
