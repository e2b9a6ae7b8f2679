"""``tensionear reanalyse``: what changed, told to people and programs; what could not be read, too."""

from pathlib import Path

import pytest

from tensionear.job.archive.archive import Archive
from tensionear.job.archive.opening import open_archive
from tensionear.job.pluck_document import ReadingDocument, RefusalDocument, outcome_document
from tensionear.pluck.outcome import PluckOutcome
from tests.cli.command import Tensionear
from tests.job.invented import invented_setup
from tests.job.recorded_job import JOB, do_recorded_job

N_PLUCKS = 9


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An archive with a job with real sound."""
    path = tmp_path_factory.mktemp("archive") / "archive.sqlite"
    with open_archive(str(path)) as opened:
        do_recorded_job(opened, 2)
    return path


@pytest.fixture(autouse=True)
def _here(archive: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TENSIONEAR_ARCHIVE", str(archive))
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(tmp_path)


def read_higher(monkeypatch: pytest.MonkeyPatch) -> None:
    def higher(outcome: PluckOutcome) -> ReadingDocument | RefusalDocument:
        document = outcome_document(outcome)
        if isinstance(document, RefusalDocument):
            return document
        return document.model_copy(update={"fundamental_hz": document.fundamental_hz * 1.1})

    monkeypatch.setattr("tensionear.job.reanalysis.reading.outcome_document", higher)


def test_an_archive_that_is_read_the_same_says_so(tensionear: Tensionear) -> None:
    told = tensionear("reanalyse", "--processes", "1", "--results", "now.jsonl")
    assert told.code == 0
    assert f"{N_PLUCKS} kept plucks. Before, they were read by version 1 ({N_PLUCKS})." in " ".join(
        told.out.split()
    )
    assert "No pass would have another verdict." in told.out
    again = tensionear("reanalyse", "--processes", "1", "--results", "now.jsonl", "--json")
    (line,) = again.of_kind("reanalysis")
    assert (line["n_items"], line["n_same"], line["n_still_refused"]) == (N_PLUCKS, N_PLUCKS - 1, 1)
    assert line["before_versions"] == {"1": N_PLUCKS}
    (group,) = again.of_kind("reanalysis_group")
    assert group["group"] == invented_setup().name
    assert len(Path("now.jsonl").read_text("utf-8").splitlines()) == 1 + N_PLUCKS


def test_differences_and_other_verdicts_are_told(
    tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    read_higher(monkeypatch)
    told = tensionear("reanalyse", "--processes", "1", "--largest", "2")
    assert told.code == 0
    assert told.out.count("→") == 2 + 3  # the two largest, and three passes
    assert "+10 %" in told.out
    assert f"job {JOB}, pass 3, final setting" in told.out
    assert "in band → out of band: too high" in told.out
    assert "all of these were read by the same estimator version before" in " ".join(told.out.split())
    as_json = tensionear("reanalyse", "--processes", "1", "--largest", "0", "--json")
    assert as_json.of_kind("reanalysis_difference") == []
    final = next(each for each in as_json.of_kind("reanalysis_pass") if each["pass_number"] == 3)
    assert (final["before_verdict"], final["after_verdict"]) == ("in band", "out of band")
    assert final["after_tension_n"] == pytest.approx(1.21 * final["before_tension_n"])
    assert as_json.of_kind("reanalysis")[0]["n_decided_otherwise"] == 3


def test_a_damaged_sound_is_told_and_the_others_are_read(
    tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    content = Archive.content
    first: list[str] = []

    def damaged(archive: Archive, sha256: str) -> bytes:
        first.append(sha256)
        return b"no sound" if sha256 == first[0] else content(archive, sha256)

    monkeypatch.setattr(Archive, "content", damaged)
    told = tensionear("reanalyse", "--processes", "1", "--json")
    assert told.code == 5
    assert told.of_kind("reanalysis")[0]["n_not_read"] == 1
    assert told.of_kind("error")[0]["source"] == f"job {JOB}, pluck 1"
    assert told.of_kind("reanalysis")[0]["n_items"] == N_PLUCKS - 1


def test_a_folder_is_compared_with_an_earlier_run(three_plucks: Path, tensionear: Tensionear) -> None:
    folder = three_plucks.parent
    first = tensionear("reanalyse", folder, "--processes", "1", "--results", "a.jsonl")
    assert first.code == 0
    assert "Nothing was compared: --compare-with" in first.out
    again = tensionear("reanalyse", folder, "--processes", "1", "--compare-with", "a.jsonl", "--json")
    (line,) = again.of_kind("reanalysis")
    assert (line["of"], line["n_items"], line["n_same"], line["n_readings"]) == ("folder", 1, 3, 3)


def test_ctrl_c_says_how_to_go_on(
    three_plucks: Path, tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupt(_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("tensionear.job.reanalysis.run.read_item", interrupt)
    told = tensionear("reanalyse", three_plucks.parent, "--processes", "1", "--results", "a.jsonl")
    assert told.code == 130
    assert "goes on where it was: a.jsonl keeps what was read" in told.err
    assert "nothing was kept" in tensionear("reanalyse", "--processes", "1").err


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (("--compare-with", "a.jsonl"), 2, "--compare-with is for a folder"),
        ((".", "--archive", "a.sqlite"), 2, "a folder and an archive are both given"),
        (("gone",), 2, "there is no folder gone"),
        (("--archive", "gone.sqlite"), 5, "there is no such file"),
        (("--processes", "0"), 2, "0 is not in the range"),
    ],
)
def test_what_cannot_be_done_is_told(
    tensionear: Tensionear, arguments: tuple[str, ...], code: int, said: str
) -> None:
    told = tensionear("reanalyse", *arguments)
    assert told.code == code
    assert said in told.err
