"""A re-analysis that was stopped goes on where it was, wherever that was, and reports what it would have anyway."""

import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import soundfile

from tensionear.errors import InputError
from tensionear.job.reanalysis.report import Report
from tensionear.job.reanalysis.results_file import read_results
from tensionear.job.reanalysis.run import reanalyse_folder
from tests.job.reanalysis.conftest import untracked
from tests.plain_pluck import RATE_HZ, plucks

ROOT = Path(__file__).parents[3]


def run(folder: Path, results: Path | None, earlier: Path | None = None) -> Report:
    return reanalyse_folder(folder, earlier, results, 1, untracked)


def stopped_after(n_lines: int) -> Callable[[int], object]:
    """Follows the work, and types Ctrl-C once so many lines are there."""

    @contextmanager
    def track(_: int) -> Iterator[Callable[[int], None]]:
        left = [n_lines]

        def advance(_: int) -> None:
            left[0] -= 1
            if left[0] == 0:
                raise KeyboardInterrupt

        yield advance

    return track


@pytest.mark.usefixtures("quick")
def test_wherever_it_is_stopped_it_goes_on_and_reports_the_same(folder: Path, tmp_path: Path) -> None:
    whole = run(folder, None)
    assert (len(whole.done), len(whole.not_read)) == (5, 1)
    for n_lines in range(1, 7):
        results = tmp_path / f"{n_lines}.jsonl"
        with pytest.raises(KeyboardInterrupt):
            reanalyse_folder(folder, None, results, 1, stopped_after(n_lines))  # type: ignore[arg-type]
        n_before = len(list(read_results(results)[1]))
        assert n_before == n_lines
        assert run(folder, results) == whole
        items = [line.item for line in read_results(results)[1] if line.kind == "recording"]
        assert sorted(items) == sorted(whole.done)


@pytest.mark.usefixtures("quick")
def test_a_torn_last_line_is_dropped_at_whatever_byte_it_is_torn(folder: Path, tmp_path: Path) -> None:
    whole = run(folder, tmp_path / "whole.jsonl")
    content = (tmp_path / "whole.jsonl").read_bytes()
    last = content[:-1].rindex(b"\n") + 1
    results = tmp_path / "torn.jsonl"
    for end in (*range(0, 60, 7), *range(last, len(content), 25), len(content) - 1):
        results.write_bytes(content[:end])
        assert run(folder, results) == whole
        assert results.read_bytes().startswith(content[:last]) or end < last
        assert len(read_of(results)) == 6


def read_of(results: Path) -> set[str]:
    return {line.item for line in read_results(results)[1]}


@pytest.mark.usefixtures("quick")
def test_what_was_in_trouble_is_tried_again(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    results = tmp_path / "results.jsonl"
    assert set(run(folder, results).not_read) == {"morning/3.wav"}
    (folder / "morning" / "3.wav").rename(folder / "morning" / "7.wav")
    later = run(folder, results)
    assert "morning/7.wav" in later.done


@pytest.mark.usefixtures("quick")
def test_a_file_of_something_else_is_left_as_it_is(folder: Path, tmp_path: Path) -> None:
    for content in (b"a letter", b"a letter\nof two lines\n", b"{}\n"):
        other = tmp_path / "letter.txt"
        other.write_bytes(content)
        with pytest.raises(InputError, match="holds no results of a re-analysis"):
            run(folder, other)
        assert other.read_bytes() == content


@pytest.mark.usefixtures("quick")
def test_results_of_another_folder_or_version_are_not_gone_on_with(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    results = tmp_path / "results.jsonl"
    run(folder, results)
    content = results.read_bytes()
    with pytest.raises(InputError, match=r"holds results of the folder .*morning"):
        reanalyse_folder(folder, None, _results_of(folder / "morning", tmp_path), 1, untracked)
    monkeypatch.setattr("tensionear.job.reanalysis.run.ESTIMATOR_VERSION", 99)
    with pytest.raises(InputError, match=r"with estimator version 1, and this is .* with 99"):
        run(folder, results)
    assert results.read_bytes() == content


def _results_of(folder: Path, tmp_path: Path) -> Path:
    run(folder, tmp_path / "other.jsonl")
    return tmp_path / "other.jsonl"


@pytest.mark.usefixtures("quick")
def test_a_damaged_line_is_told_with_its_number(folder: Path, tmp_path: Path) -> None:
    results = tmp_path / "results.jsonl"
    run(folder, results)
    lines = results.read_bytes().splitlines(keepends=True)
    results.write_bytes(b"".join([*lines[:3], b"damaged\n", *lines[4:]]))
    with pytest.raises(InputError, match=r"line 4 of .* is damaged"):
        run(folder, results)


def test_a_run_that_is_killed_with_its_processes_goes_on_and_reports_the_same(tmp_path: Path) -> None:
    folder, results = tmp_path / "recordings", tmp_path / "results.jsonl"
    folder.mkdir()
    for number in range(5):
        soundfile.write(folder / f"{number}.flac", plucks([100.0 + number]), RATE_HZ)
    (folder / "broken.flac").write_bytes(b"no sound")
    program = f"""
import os, signal
from pathlib import Path
from tensionear.job.reanalysis.run import reanalyse_folder
from tests.job.reanalysis.conftest import untracked
from tests.job.reanalysis.test_going_on import stopped_after
try:
    reanalyse_folder(Path({str(folder)!r}), None, Path({str(results)!r}), 2, stopped_after(2))
finally:
    os.kill(os.getpid(), signal.SIGKILL)
"""
    # The processes that read hold this pipe too: it ends only when all of them have ended.
    killed = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, check=False)
    assert killed.returncode == -9
    assert len(read_of(results)) == 2
    gone_on = reanalyse_folder(folder, None, results, 2, untracked)
    assert gone_on == run(folder, None)
    assert (len(gone_on.done), set(gone_on.not_read)) == (5, {"broken.flac"})
    assert gone_on.total.n_readings == 5
