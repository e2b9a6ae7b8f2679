"""Outputs that are closed or full, pictures that cannot be written, names that are no text, an early Ctrl-C."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import soundfile

from tests.cli.command import Tensionear
from tests.closed_output import assert_ends_quietly_when_nobody_listens
from tests.plain_pluck import RATE_HZ, plucks

ROOT = Path(__file__).parents[2]
posix_only = pytest.mark.skipif(sys.platform == "win32", reason="needs a POSIX shell")
needs_full = pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no /dev/full")


def in_shell(line: str, *arguments: object) -> subprocess.CompletedProcess[str]:
    """Run a line of shell in which "$@" stands for tensionear with these arguments."""
    command = [sys.executable, "-m", "tensionear", *(str(argument) for argument in arguments)]
    return subprocess.run(
        ["sh", "-c", line, "sh", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )


def n_plucks(together: dict[str, Any]) -> int:
    """Plucks in a set, read or refused: whether they can be read is tried elsewhere."""
    return int(together["n_readings"] + together["n_refused"])


@posix_only
@pytest.mark.parametrize("arguments", [("--help",), ("cautions",)])
@pytest.mark.parametrize("closed", [">&-", "2>&-", ">&- 2>&-", "<&- >&- 2>&-"])
def test_an_output_that_was_closed_before_the_start_does_no_harm(
    closed: str, arguments: tuple[str, ...]
) -> None:
    told = in_shell(f'"$@" {closed}', *arguments)
    assert told.returncode == 0
    assert told.stderr == ""
    assert bool(told.stdout) is (closed == "2>&-")


@posix_only
def test_a_file_that_is_opened_later_does_not_take_the_place_of_a_closed_output(
    three_plucks: Path, tmp_path: Path
) -> None:
    told = in_shell('"$@" >&- 2>&-', "read", three_plucks, "--picture", tmp_path / "seen.svg")
    assert told.returncode == 0
    assert (tmp_path / "seen.svg").read_text("utf-8").rstrip().endswith("</svg>")


@posix_only
@needs_full
@pytest.mark.parametrize(
    "arguments", [("--help",), ("--version",), ("cautions",), ("read", "gone", "--json")]
)
def test_an_output_that_is_full_is_told_and_is_no_fault_of_tensionear(arguments: tuple[str, ...]) -> None:
    told = in_shell('"$@" >/dev/full', *arguments)
    assert told.returncode == 2
    assert "the output cannot be written (No space left on device)" in told.stderr
    assert "fault" not in told.stderr
    assert "Traceback" not in told.stderr


@posix_only
@needs_full
def test_an_error_output_that_is_full_keeps_nobody_from_reading(three_plucks: Path) -> None:
    told = in_shell('"$@" 2>/dev/full', "read", "gone.wav", three_plucks, "--json")
    assert told.returncode == 2
    assert n_plucks(json.loads(told.stdout.splitlines()[-1])) == 3


@posix_only
def test_help_into_a_closed_pipe_ends_quietly_with_141() -> None:
    assert_ends_quietly_when_nobody_listens("--help")


def test_ctrl_c_while_the_command_line_is_loaded_ends_quietly_with_130() -> None:
    program = """if True:
        import runpy, sys
        class Interrupting:
            def find_spec(self, name, *_):
                if name == "click":
                    raise KeyboardInterrupt
        sys.meta_path.insert(0, Interrupting())
        runpy.run_module("tensionear", run_name="__main__")
    """
    told = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, check=False)
    assert (told.returncode, told.stdout, told.stderr) == (130, b"", b"")


def test_nothing_typed_asks_for_help(tensionear: Tensionear) -> None:
    told = tensionear()
    assert told.code == 0
    assert told.out == tensionear("--help").out
    assert told.err == ""


def test_a_picture_that_cannot_be_written_is_told_and_the_rest_goes_on(
    three_plucks: Path, tmp_path: Path, tensionear: Tensionear
) -> None:
    (tmp_path / "seen-2.png").mkdir()
    told = tensionear("read", three_plucks, "--picture", tmp_path / "seen.png", "--json")
    assert told.code == 2
    assert n_plucks(told.of_kind("set")[0]) == 3
    (error,) = told.of_kind("error")
    assert error["path"] == str(tmp_path / "seen-2.png")
    assert "seen-2.png cannot be written" in error["message"]
    assert (tmp_path / "seen-3.png").is_file()
    assert "to seen-3.png (1 could not be written)" in told.err


@posix_only
def test_a_file_whose_name_is_no_text_is_read(three_plucks: Path, tmp_path: Path) -> None:
    for ending in (".flac", ".mp3"):
        path = os.fsencode(tmp_path) + b"/three\xff" + ending.encode()
        try:
            Path(os.fsdecode(path)).write_bytes(three_plucks.read_bytes())
        except OSError:
            pytest.skip("the file system takes no such name")
        read: list[str | bytes] = [sys.executable, "-m", "tensionear", "read", path]
        as_json = [*read, "--json", "--picture", str(tmp_path / "seen.png")]
        told = subprocess.run(as_json, cwd=ROOT, capture_output=True, check=True)
        lines = [json.loads(line) for line in told.stdout.decode("ascii").splitlines()]
        assert lines[1]["source"] == f"three\\xff{ending}"
        assert n_plucks(lines[-1]) == 3
        table = subprocess.run(read, cwd=ROOT, capture_output=True, check=True)
        assert f"{ending}, channel 1".encode() in table.stdout
    gone = subprocess.run(
        [sys.executable, "-m", "tensionear", "read", b"gone\xff.wav", "--json"],
        cwd=ROOT, capture_output=True, check=False,
    )  # fmt: skip
    assert gone.returncode == 2
    assert json.loads(gone.stdout.splitlines()[1])["path"] == "gone\\xff.wav"


@pytest.mark.parametrize("n_columns", [30, 50, 80, 200])
def test_no_line_is_wider_than_the_terminal_and_no_word_is_broken(
    n_columns: int, tmp_path: Path, tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = Path("sound.wav")
    monkeypatch.chdir(tmp_path)
    loud = plucks([110.0], level=6.0).clip(-1.0, 1.0)
    soundfile.write(path, loud, RATE_HZ)
    monkeypatch.setenv("COLUMNS", "200")
    at_200 = tensionear("read", path).out
    monkeypatch.setenv("COLUMNS", str(n_columns))
    told = tensionear("read", path).out
    assert told.split() == at_200.split()
    assert max(len(line) for line in told.splitlines()) <= min(n_columns, 96)


def test_a_row_that_is_too_wide_goes_on_below(
    three_plucks: Path, tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    span = (
        "--span-length-mm", "213", "--linear-density-g-per-m", "165", "--band-n", "365", "420",
        "--method", "force", "--source", "invented manual, page 12", "--budget",
    )  # fmt: skip
    monkeypatch.chdir(three_plucks.parent)
    for n_columns in (200, 80, 60, 45, 30):
        monkeypatch.setenv("COLUMNS", str(n_columns))
        told = tensionear("read", three_plucks.name, *span)
        assert max(len(line) for line in told.out.splitlines()) <= n_columns
        assert len(re.findall(r"^ +\d  +\d\.\d\d s", told.out, re.MULTILINE)) == 3


def test_a_file_that_cannot_be_read_is_not_called_silent(tmp_path: Path, tensionear: Tensionear) -> None:
    told = tensionear("read", tmp_path / "gone.wav")
    assert "No reading: 1 source could not be read" in " ".join(told.out.split())
    assert "no pluck was heard" not in told.out + told.err


def test_what_could_not_be_read_is_missing_from_the_set_and_said(
    tmp_path: Path, three_plucks: Path, tensionear: Tensionear
) -> None:
    told = tensionear("read", tmp_path / "gone.wav", three_plucks)
    assert "1 source could not be read, or not to the end: the set lacks what is there." in told.out
    assert tensionear("read", tmp_path / "gone.wav", "--json").of_kind("set")[0]["n_unreadable"] == 1


def test_files_that_hold_the_same_count_once(
    tmp_path: Path, three_plucks: Path, tensionear: Tensionear
) -> None:
    copy = tmp_path / "copy.flac"
    copy.write_bytes(three_plucks.read_bytes())
    told = tensionear("read", three_plucks, three_plucks, copy, "--json")
    assert n_plucks(told.of_kind("set")[0]) == 3
    assert f"{three_plucks} is given twice: it counts once." in told.err
    assert f"{copy} holds the same as {three_plucks}: it counts once." in told.err


def test_files_of_one_name_in_different_folders_are_told_apart(
    tmp_path: Path, tensionear: Tensionear
) -> None:
    paths = [tmp_path / day / "sound.wav" for day in ("monday", "tuesday")]
    for path, fundamental_hz in zip(paths, (110.0, 110.3), strict=True):
        path.parent.mkdir()
        soundfile.write(path, plucks([fundamental_hz]), RATE_HZ)
    told = tensionear("read", *paths)
    assert all(f"{path}, channel 1" in told.out for path in paths)
    as_json = tensionear("read", *paths, "--json")
    assert [line["path"] for line in as_json.of_kind("pluck")] == [str(path) for path in paths]
    (together,) = as_json.of_kind("set")
    assert together["sources"] == ["sound.wav", "sound.wav"]
    assert together["paths"] == [str(path) for path in paths]
