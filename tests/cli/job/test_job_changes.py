"""What is added to a job or corrected in it: nothing is overwritten, and every reason is kept."""

import io
import re
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tests.cli.command import Tensionear
from tests.cli.invented_setup import RECORDINGS


def last_fact(job: Tensionear) -> dict[str, Any]:
    """The last entry of the log of job 17, without what every entry has."""
    fact: dict[str, Any] = job("log", "17", "--json").lines[-1]["entry"]["fact"]
    return fact


def test_a_pluck_is_struck_out_and_reinstated_and_the_pass_is_judged_anew(job: Tensionear) -> None:
    job("read", RECORDINGS / "over-tension.flac")
    told = job("strike-out", "2", "--reason", "a tool fell", "--json")
    assert [line["kind"] for line in told.lines] == ["log_entry", "step"]
    lines = job("show", "--json")
    assert lines.of_kind("pluck")[1]["struck_out"] == "a tool fell"
    assert lines.of_kind("pluck")[1]["counts"] is False
    assert (lines.of_kind("pass")[0]["n_readings"], lines.of_kind("pass")[0]["n_struck_out"]) == (4, 1)
    assert "struck out: a tool fell" in job("show").out
    assert "struck out already" in job("strike-out", "2", "--reason", "again").err
    job("reinstate", "2", "--reason", "it was another one")
    assert job("show", "--json").of_kind("pass")[0]["n_readings"] == 5


def test_a_pass_is_done_again_with_a_reason_and_the_first_stays(job: Tensionear) -> None:
    job("read", RECORDINGS / "over-tension.flac")
    told = job("read", RECORDINGS / "hum.flac", "--pass", "over-tension")
    assert told.code == 2
    assert "to do it again, say why" in told.err
    told = job("read", RECORDINGS / "hum.flac", "--pass", "over-tension", "--reason", "slipped", "--json")
    assert told.of_kind("pass")[0]["reason"] == "slipped"
    assert [line["pass_kind"] for line in job("show", "--json").of_kind("pass")] == ["over-tension"] * 2


def test_a_detail_is_corrected_and_what_it_was_stays_in_the_log(job: Tensionear) -> None:
    job("correct", "odometer-km", "120000", "--reason", "read off later")
    job("correct", "17", "odometer_km", "121000", "--reason", "misread")
    assert last_fact(job) == {
        "kind": "detail corrected", "name": "odometer_km", "before": 120000.0, "after": 121000.0, "reason": "misread",
    }  # fmt: skip
    assert "odometer is 121000 km, was 120000 km: misread" in job("log").out
    job("correct", "ambient-c", "-5.5", "--reason", "it is cold")
    assert job("show", "--json").of_kind("job")[0]["ambient_c"] == -5.5
    job("correct", "ambient-c", "", "--reason", "not measured")
    assert job("show", "--json").of_kind("job")[0]["ambient_c"] is None


def test_notes_photos_and_ticks_are_added(job: Tensionear, tmp_path: Path) -> None:
    path = tmp_path / "marks.png"
    Image.new("RGB", (4, 3)).save(path)
    assert job("photo", path, "--caption", "the marks").code == 0
    assert (last_fact(job)["kind"], last_fact(job)["caption"]) == ("photo", "the marks")
    assert job("note", "17", "Belt goes on well.").code == 0
    assert job("tick", "2", "--value", "24").code == 0
    about = job("show", "--json").of_kind("job")[0]
    assert about["notes"] == ["Belt goes on well."]
    assert [line["caption"] for line in about["photos"]] == ["the marks"]
    assert [line["is_ticked"] for line in about["checklist"]] == [False, True]


def test_a_step_is_skipped_with_its_reason(job: Tensionear) -> None:
    assert "Missing option '--reason'" in job("skip", "over-tension").err
    assert job("skip", "over-tension", "--reason", "belt was run in before").code == 0
    assert job("next", "--json").lines[0]["step"] == "locking tools out"
    assert "over-tension: belt was run in before" in job("show").out


def test_a_job_goes_by_another_version_of_its_setup_from_then_on(
    job: Tensionear, tensionear: Tensionear
) -> None:
    job("read", RECORDINGS / "over-tension.flac")
    assert job("show", "--json").of_kind("pass")[0]["verdict"] == "in band"
    tensionear(
        "setup", "change", "invented four", "--reason", "read again", "--over-tension-band-n", "400", "500"
    )
    assert job("show", "--json").of_kind("pass")[0]["verdict"] == "in band"  # it keeps its version
    told = job("take-setup", "invented four", "--reason", "the band was read wrongly")
    assert told.code == 0
    assert job("show", "--json").of_kind("pass")[0]["verdict"] == "out of band"
    assert job("show", "--json").of_kind("job")[0]["setup_version"] == 2
    assert "goes by it already" not in told.err
    assert job("take-setup", "invented four", "--reason", "again").code == 2


def test_a_job_is_put_away_only_if_that_is_meant_and_brought_back(job: Tensionear) -> None:
    asked = job("delete", "17", "--reason", "a mistake")
    assert asked.code == 2
    assert "add --yes" in asked.err
    assert job("delete", "17", "--reason", "a mistake", "--yes").code == 0
    assert job("list", "--json").lines == []
    assert [line["job"] for line in job("list", "--deleted", "--json").lines] == ["17"]
    assert "is deleted: restore it first" in job("note", "17", "x").err
    assert job("restore", "17").code == 0
    assert [line["job"] for line in job("list", "--json").lines] == ["17"]


class Typed(io.StringIO):
    """What a person types at a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(("answer", "code", "n_left"), [("n", 130, 1), ("", 130, 1), ("y", 0, 0)])
def test_a_person_at_a_terminal_is_asked_before_a_job_is_put_away(
    answer: str, code: int, n_left: int, job: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", Typed(f"{answer}\n"))
    told = job("delete", "17", "--reason", "a mistake")
    assert told.code == code
    assert "Delete job 17, 0 plucks?" in told.err
    assert ("Nothing was changed." in told.err) is (code == 130)
    assert len(job("list", "--json").lines) == n_left


def test_jobs_are_found_by_what_is_known_of_them(job: Tensionear) -> None:
    job(
        "open",
        "--setup",
        "invented four",
        "--number",
        "18",
        "--vehicle",
        "invented lorry",
        "--technician",
        "Bob",
    )
    for arguments in (("lorry",), ("--vehicle", "lorry"), ("--technician", "bob"), ("--number", "18")):
        found = job("list", *arguments, "--json").lines
        assert [line["job"] for line in found] == ["18"], arguments
    assert [line["job"] for line in job("list", "invented", "--json").lines] == ["18", "17"]
    assert [line["job"] for line in job("list", "--open", "--json").lines] == ["18", "17"]
    for none in (("--closed",), ("--to", "2001-01-01"), ("--verdict", "in-band"), ("--registration", "x")):
        told = job("list", *none)
        assert (told.code, told.out) == (0, "")
        assert "There is no such job." in told.err
    newest = job("list").out.splitlines()[0]
    assert re.fullmatch(r"18  \d{4}-\d\d-\d\d  open     –            invented lorry, Bob", newest)


def test_of_several_open_jobs_one_has_to_be_named(job: Tensionear) -> None:
    assert job("next").code == 0
    job("open", "--setup", "invented four", "--number", "18")
    told = job("next")
    assert told.code == 2
    assert "more than one job is open (18, 17): name the job" in told.err
    assert job("next", "18").code == 0
    assert job("listen", "--json").code != 0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("next", "71"), "there is no job '71'"),
        (("next", "1", "2"), "are quotation marks missing?"),
        (("open", "--setup", "invented for"), "did you mean 'invented four'?"),
        (("open", "--setup", "invented four", "--number", "17"), "there is a job '17' already"),
        (("open", "--setup", "invented four", "--ambient-c", "200"), "ambient_c 200.0 should be less than or equal"),
        (("open", "--setup", "invented four", "--odometer-km", "1,5"), "with a point, not a comma"),
        (("open", "--setup", "invented four", "--vehicle", "x" * 201), "should have at most 200 characters"),
        (("turn", "2"), "the locking tools are not noted as out"),
        (("turn", "two"), "'two' is not a number"),
        (("top-dead-centre", "x"), "there is no job 'x'"),
        (("tick", "3"), "the checklist has 2 lines, and no line 3"),
        (("tick", "one"), "line 'one' is not a whole number"),
        (("tick", "1", "--value", "3"), "has no value that could be 3"),
        (("skip", "lunch", "--reason", "x"), "there is no step 'lunch', but cautions, over-tension"),
        (("skip", "cautions", "--reason", "x"), "the cautions cannot be skipped"),
        (("strike-out", "1", "--reason", "x"), "the job has 0 plucks, and no pluck 1"),
        (("strike-out", "-1", "--reason", "x"), "No such option"),
        (("correct", "colour", "red", "--reason", "x"), "a job has no detail 'colour', but vehicle"),
        (("correct", "belt-c", "warm", "--reason", "x"), "'warm' is not a number"),
        (("correct", "belt-c", "nan", "--reason", "x"), "belt"),
        (("correct", "vehicle", "invented van", "--reason", "x"), "is 'invented van' already"),
        (("note", " "), "text is empty"),
        (("photo", "gone.jpg"), "gone.jpg"),
        (("end-pass",), "no pass goes on that could be ended"),
        (("close",), "before the job is closed comes over-tension"),
        (("restore", "17"), "the job is not deleted"),
        (("listen", "17", "lunch"), "there is no pass 'lunch', but over-tension"),
        (("read", "gone.flac"), "there is no file gone.flac"),
        (("read", "17", "gone.flac"), "there is no file gone.flac"),
        (("read", RECORDINGS / "hum.flac", "--turned", "2"), "--turned belongs to the run-in"),
        (("read", RECORDINGS / "hum.flac", "--pass", "final-setting"), "before the final setting comes over-tension"),
        (("take-setup", "other", "--reason", "x"), "there is no setup 'other'"),
        (("list", "--from", "yesterday"), "'yesterday' is no date"),
    ],
)  # fmt: skip
def test_what_cannot_be_meant_is_refused_and_nothing_is_written(
    arguments: tuple[object, ...], said: str, job: Tensionear
) -> None:
    n_before = len(job("log", "17", "--json").lines)
    told = job(*arguments)
    assert told.code == 2, told.out
    assert said in " ".join(told.err.split())
    assert "Traceback" not in told.err
    after = job("log", "17", "--json").lines
    begun = [line for line in after[n_before:] if line["entry"]["fact"]["kind"] != "pass begun"]
    assert begun == []


def test_trouble_with_the_archive_ends_with_5(job: Tensionear, own_archive: Path) -> None:
    own_archive.write_bytes(b"no database at all" * 100)
    for arguments in (
        ("list",),
        ("next", "17"),
        ("note", "17", "x"),
        ("read", "17", RECORDINGS / "hum.flac"),
    ):
        told = job(*arguments, "--json")
        assert told.code == 5, arguments
        assert "archive" in told.of_kind("error")[0]["message"]
        assert "Traceback" not in told.err
    assert own_archive.read_bytes() == b"no database at all" * 100


NO_TEXT = "a\udcffb"
"""As Python takes a byte that is no UTF-8 from a command line."""


@pytest.mark.parametrize(
    "arguments",
    [
        ("job", "next", NO_TEXT),
        ("job", "delete", NO_TEXT, "--reason", "x", "--yes"),
        ("job", "note", "17", NO_TEXT),
        ("job", "note", "17", "x", "--by", NO_TEXT),
        ("job", "skip", "17", "tools-out", "--reason", NO_TEXT),
        ("job", "open", "--setup", NO_TEXT),
        ("job", "open", "--setup", "invented four", "--vehicle", NO_TEXT),
        ("job", "take-setup", "17", NO_TEXT, "--reason", "x"),
        ("job", "read", "17", NO_TEXT),
        ("job", "photo", "17", NO_TEXT),
        ("setup", "show", NO_TEXT),
        ("setup", "new", NO_TEXT),
        ("setup", "copy", "invented four", NO_TEXT),
        ("setup", "export", NO_TEXT, "x.json"),
        ("setup", "import", NO_TEXT),
        ("setup", "delete", NO_TEXT, "--reason", "x", "--yes"),
    ],
)
def test_bytes_that_are_no_text_are_wrong_input_and_no_fault_of_the_program(
    arguments: tuple[str, ...], job: Tensionear, tensionear: Tensionear
) -> None:
    told = tensionear(*arguments)
    assert told.code == 2, told.err
    assert "fault of tensionear" not in told.err


def test_a_recording_that_went_into_the_wrong_pass_can_be_read_into_the_right_one(job: Tensionear) -> None:
    job("skip", "over-tension", "--reason", "invented")
    job("tools-out")
    job("turn", "10")
    job("read", RECORDINGS / "final-setting.flac", "--pass", "run-in")
    job("top-dead-centre")
    refused = job("read", RECORDINGS / "final-setting.flac")
    assert refused.code == 2
    assert "strike out its plucks there first" in refused.err
    for number in range(1, 6):
        job("strike-out", number, "--reason", "of the final setting")
    told = job("read", RECORDINGS / "final-setting.flac", "--json")
    assert told.code == 0
    assert told.of_kind("pass")[0]["n_readings"] == 5
    assert job("show", "--json").of_kind("job")[0]["n_plucks"] == 10


def test_turning_in_a_pass_that_is_no_run_in_is_refused_before_the_pass_begins(job: Tensionear) -> None:
    assert job("read", RECORDINGS / "run-in.flac", "--turned", "2").code == 2
    assert job("show", "--json").of_kind("job")[0]["n_passes"] == 0


def test_what_is_next_minds_a_final_setting_that_was_read_badly(job: Tensionear) -> None:
    job("read", RECORDINGS / "over-tension.flac")
    assert job("next", "--json").lines[0]["amiss"] is None
    assert "mind" not in job("next").out
    job("tools-out")
    job("turn", "10")
    job("top-dead-centre")
    told = job("read", RECORDINGS / "run-in.flac").out
    assert "plucks that do not agree" in " ".join(told.split())
    again = ("--pass", "final-setting", "--reason", "invented")
    job("read", RECORDINGS / "final-setting.flac", *again)
    assert job("next", "--json").lines[0]["amiss"] is None  # 380 to 460 N, and it is read as 422 N
