"""A folder of recordings, compared with an earlier run over it."""

from pathlib import Path

import pytest

from tensionear.errors import InputError
from tensionear.job.reanalysis.change import Change
from tensionear.job.reanalysis.lines import Begin, ReadLine, RecordingRead
from tensionear.job.reanalysis.results_file import read_results, results_to_go_on
from tensionear.job.reanalysis.run import reanalyse_folder
from tests.job.reanalysis.conftest import outcome, untracked


def write_earlier(path: Path, lines: list[ReadLine]) -> Path:
    begin = Begin(of="folder", source="/elsewhere", software_version="0.0.1", estimator_version=0)
    with results_to_go_on(path, begin) as (_, append):
        for line in lines:
            append(line)
    return path


@pytest.mark.usefixtures("quick")
def test_changes_are_counted_by_folder(folder: Path, tmp_path: Path) -> None:
    reanalyse_folder(folder, None, tmp_path / "now.jsonl", 1, untracked)
    lines = {line.item: line for line in read_results(tmp_path / "now.jsonl")[1]}

    def earlier_of(item: str, *hertz: float | None) -> RecordingRead:
        line = lines[item]
        assert isinstance(line, RecordingRead)
        plucks = tuple(outcome(each, at_s) for each, at_s in zip(hertz, (2.1, 5.0), strict=False))
        return line.model_copy(update={"plucks": plucks})

    earlier = write_earlier(
        tmp_path / "earlier.jsonl",
        [
            earlier_of("morning/1.wav", 101.0, None),  # as now
            earlier_of("morning/2.wav", 51.0, 51.0),  # an octave below; refused now
            earlier_of("evening/4.wav"),  # nothing was heard
            earlier_of("evening/5.wav", 105.0).model_copy(update={"sha256": "0" * 64}),  # another recording
            RecordingRead(item="evening/9.wav", sha256="0" * 64, plucks=()),  # gone
        ],
    )
    report = reanalyse_folder(folder, earlier, None, 1, untracked)
    assert report.groups["morning"].changes == {
        Change.SAME: 1,
        Change.STILL_REFUSED: 1,
        Change.BEYOND: 1,
        Change.NEWLY_REFUSED: 1,
    }
    assert report.groups["evening"].changes == {Change.NEWLY_READ: 1, Change.STILL_REFUSED: 1}
    assert (report.total.n_readings, report.total.n_refused) == (5, 5)
    assert report.not_compared == {"evening/5.wav", "evening/6.wav"}
    assert report.n_gone == 1
    assert [(each.name, each.change) for each in report.largest(10)] == [
        ("evening/4.wav at 2.10 s", Change.NEWLY_READ),
        ("morning/2.wav at 5.00 s", Change.NEWLY_REFUSED),
        ("morning/2.wav at 2.10 s", Change.BEYOND),
    ]
    assert report.largest(10)[-1].share == pytest.approx(1.0)
    assert len(report.largest(2)) == 2


@pytest.mark.usefixtures("quick")
def test_an_earlier_run_by_the_same_program_reads_the_same(folder: Path, tmp_path: Path) -> None:
    reanalyse_folder(folder, None, tmp_path / "now.jsonl", 1, untracked)
    report = reanalyse_folder(folder, tmp_path / "now.jsonl", None, 1, untracked)
    assert set(report.total.changes) == {Change.SAME, Change.STILL_REFUSED}
    assert report.largest(10) == []


@pytest.mark.usefixtures("quick")
def test_results_are_not_compared_with_themselves_or_with_an_archive(folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "now.jsonl"
    with pytest.raises(InputError, match="cannot be compared with itself"):
        reanalyse_folder(folder, path, path, 1, untracked)
    begin = Begin(of="archive", source="an id", software_version="0.0.1", estimator_version=0)
    with results_to_go_on(path, begin):
        pass
    with pytest.raises(InputError, match="holds results of an archive, and a folder is read"):
        reanalyse_folder(folder, path, None, 1, untracked)
    with pytest.raises(InputError, match=r"gone\.jsonl cannot be read"):
        reanalyse_folder(folder, tmp_path / "gone.jsonl", None, 1, untracked)


def test_a_folder_without_recordings_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="has no recording in it"):
        reanalyse_folder(tmp_path, None, None, 1, untracked)
    with pytest.raises(InputError, match=r"there is no folder .*gone"):
        reanalyse_folder(tmp_path / "gone", None, None, 1, untracked)
