"""A reading that is broken off: what was shown is kept, and nothing is kept twice."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
import soundfile

from tensionear.job.archive.archive import Archive
from tests.cli.command import Tensionear
from tests.cli.invented_setup import RECORDINGS
from tests.plain_pluck import RATE_HZ, plucks

ROOT = Path(__file__).parents[3]
posix_only = pytest.mark.skipif(sys.platform == "win32", reason="sends signals of POSIX")


def n_plucks(job: Tensionear) -> int:
    """Plucks in job 17."""
    return int(job("show", "17", "--json").of_kind("job")[0]["n_plucks"])


def test_ctrl_c_keeps_what_was_shown_and_the_same_recording_goes_on(
    job: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep = Archive.keep_pluck
    n_kept = 0

    def interrupted(*arguments: object, **named: object) -> object:
        nonlocal n_kept
        n_kept += 1
        if n_kept == 3:
            raise KeyboardInterrupt
        return keep(*arguments, **named)  # type: ignore[arg-type]

    with monkeypatch.context() as patched:
        patched.setattr(Archive, "keep_pluck", interrupted)
        told = job("read", RECORDINGS / "over-tension.flac")
    assert told.code == 130
    assert "Stopped: what was shown is kept" in told.err
    assert n_plucks(job) == 2
    again = job("read", RECORDINGS / "over-tension.flac", "--json")
    assert again.code == 0
    assert "2 plucks were kept before, and not kept twice." in again.err
    assert [line["number"] for line in again.of_kind("pluck")] == [3, 4, 5]
    assert n_plucks(job) == 5
    assert again.of_kind("pass")[0]["n_readings"] == 5


def test_a_recording_that_is_given_again_after_its_pass_adds_nothing_and_is_no_error(job: Tensionear) -> None:
    job("read", RECORDINGS / "over-tension.flac")
    for arguments in ((), ("--pass", "over-tension")):
        again = job("read", RECORDINGS / "over-tension.flac", *arguments)
        assert again.code == 0
        assert "are in pass 1, over-tension, already: nothing was added" in again.err
    assert n_plucks(job) == 5


def test_a_recording_of_another_pass_is_not_taken_for_this_one(job: Tensionear) -> None:
    job("read", RECORDINGS / "over-tension.flac")
    job("tools-out")
    told = job("read", RECORDINGS / "over-tension.flac", "--pass", "run-in")
    assert told.code == 2
    assert "this very sound is pluck 1, in pass 1, over-tension, already" in told.err
    assert n_plucks(job) == 5


@posix_only
def test_a_process_that_is_killed_has_kept_every_pluck_that_it_showed(
    job: Tensionear, tmp_path: Path, own_archive: Path
) -> None:
    path = tmp_path / "long.flac"
    frequencies = [148.0 + 0.1 * number for number in range(8)]
    soundfile.write(path, plucks(frequencies), RATE_HZ)
    command = subprocess.Popen(
        [sys.executable, "-m", "tensionear", "job", "read", "17", str(path), "--json"],
        cwd=ROOT, stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert command.stdout is not None
    shown = [command.stdout.readline() for _ in range(3)]
    command.send_signal(signal.SIGKILL)
    shown += command.stdout.readlines()
    command.stdout.close()
    assert command.wait() == -signal.SIGKILL
    n_shown = sum(b'"kind": "pluck"' in line and line.endswith(b"\n") for line in shown)
    assert n_shown >= 3
    assert n_plucks(job) >= n_shown
    again = job("read", "17", path, "--json")
    assert again.code == 0
    lines = job("show", "17", "--json").of_kind("pluck")
    assert [line["fundamental_hz"] for line in lines] == pytest.approx(frequencies, rel=2e-3)
    assert len({line["flac_sha256"] for line in lines}) == 8


def test_a_pass_goes_on_if_a_recording_could_not_be_read(job: Tensionear, tmp_path: Path) -> None:
    told = job("read", RECORDINGS / "over-tension.flac", tmp_path / "gone.flac", "--json")
    assert told.code == 2
    assert "there is no file" in told.of_kind("error")[0]["message"]
    assert told.of_kind("pass")[0]["ended_at"] is None
    again = job("read", RECORDINGS / "over-tension.flac", "--json")
    assert again.of_kind("pass")[0]["ended_at"] is not None
    assert again.of_kind("pass")[0]["n_readings"] == 5
