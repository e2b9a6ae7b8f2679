"""The invented job of the demo recordings, from opening to a re-check, by commands alone."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.command import Tensionear, Told
from tests.cli.invented_setup import RECORDINGS, SETUP


def true_tensions(name: str) -> list[float]:
    """Tension of each pluck for the span taken as flexible, as the recording was simulated. [N]."""
    truth = json.loads((RECORDINGS / f"{name}.json").read_text("utf-8"))
    return [pluck["flexible_span_tension_n"] for pluck in truth["plucks"]]


def test_the_invented_job_is_done_by_commands(tensionear: Tensionear) -> None:
    def job(*arguments: object) -> Told:
        told = tensionear("job", *arguments)
        assert told.code == 0, told.err
        return told

    def step() -> object:
        return job("next", "--json").lines[-1]["step"]

    assert tensionear("setup", "new", "invented four", *SETUP).code == 0
    opened = job(
        "open", "--setup", "invented four", "--number", "17", "--vehicle", "invented van", "--odometer-km", "120000",
        "--registration", "EX-1", "--ambient-c", "-3", "--demonstration", "--json",
    ).lines  # fmt: skip
    assert [line["kind"] for line in opened] == ["job", "step"]
    assert (opened[0]["is_demonstration"], opened[0]["technician"]) == (True, "Invented Ann")
    assert step() == "cautions"
    shown = job("cautions", "--acknowledge").out
    assert "- Invented caution." in shown
    assert step() == "over-tension"
    job("read", RECORDINGS / "over-tension.flac")
    assert step() == "locking tools out"
    job("tools-out")
    job("tick", "1")
    assert step() == "run-in"
    job("read", RECORDINGS / "run-in.flac", "--turned", "2")
    job("top-dead-centre")
    assert step() == "final setting"
    final = job("read", RECORDINGS / "final-setting.flac", "--json")
    (last,) = final.of_kind("pass")
    assert (last["pass_kind"], last["verdict"], last["n_readings"]) == ("final setting", "in band", 5)
    assert last["ended_at"] is not None
    job("tick", "2", "--value", "24.5")
    job("note", "An invented job.")
    job("close")
    job("read", "17", RECORDINGS / "re-check.flac", "--pass", "re-check")
    job("close")

    lines = job("show", "17", "--json").lines
    assert [line["kind"] for line in lines] == (
        ["job", *(["pluck"] * 5 + ["pass"]) * 4, "run_in", "step"]
    )  # fmt: skip
    about: dict[str, Any] = lines[0]
    assert (about["job"], about["vehicle"], about["ambient_c"]) == ("17", "invented van", -3.0)
    assert (about["verdict"], about["n_plucks"], about["revolutions"]) == ("in band", 20, 10.0)
    assert [line["ticked_value"] for line in about["checklist"]] == [None, 24.5]
    plucks = [line for line in lines if line["kind"] == "pluck"]
    assert [line["number"] for line in plucks] == list(range(1, 21))
    truth = [
        each
        for name in ("over-tension", "run-in", "final-setting", "re-check")
        for each in true_tensions(name)
    ]
    assert [line["tension_n"] for line in plucks] == pytest.approx(truth, rel=0.01)
    run_in = [line["revolutions"] for line in plucks if line["pass_kind"] == "run-in"]  # noqa: S105
    assert run_in == [2, 4, 6, 8, 10]
    passes = [line for line in lines if line["kind"] == "pass"]
    assert [line["verdict"] for line in passes] == ["in band", None, "in band", "in band"]

    run_in_line = lines[-2]["run_in"]
    assert [count["revolutions"] for count in run_in_line["counts"]] == [0, 2, 4, 6, 8, 10]
    assert run_in_line["fall"]["percent"]["value"] == pytest.approx(100 * (1 - truth[9] / truth[0]), abs=2)

    table = job("show", "17").out
    assert " ".join(run_in_line["sentence"][1:].split()) in " ".join(table.split())
    assert max(len(line) for line in table.splitlines()) <= 80
    assert "IN BAND (re-check)" in table
    assert "ticked: 24.5 N m" in table
    log = job("log", "17").out
    assert "pass 2, run-in, begun" in log
    assert "turned over by hand, 2 revolutions, clockwise" in log
    assert all(" Invented Ann" in line for line in log.splitlines() if line[:4].strip())


def test_the_readings_of_a_job_are_those_of_the_command_read(job: Tensionear, tensionear: Tensionear) -> None:
    alone = tensionear("read", RECORDINGS / "over-tension.flac", "--json").of_kind("pluck")
    kept = job("read", RECORDINGS / "over-tension.flac", "--json").of_kind("pluck")
    same = (
        "number",
        "channel",
        "at_s",
        "fundamental_hz",
        "fundamental_standard_uncertainty_hz",
        "snr_db",
        "rivals",
    )
    assert [[line[name] for name in same] for line in kept] == [
        [line[name] for name in same] for line in alone
    ]
    assert [line["source"] for line in kept] == ["over-tension.flac"] * 5
    assert all(line["path"] == str(RECORDINGS / "over-tension.flac") for line in kept)


def test_a_pass_that_is_told_says_verdict_and_what_comes_next(job: Tensionear) -> None:
    told = job("read", RECORDINGS / "over-tension.flac").out
    assert "Job 17, pass 1, over-tension: 3 readings to take." in told
    assert "IN BAND" in told
    assert "Pass 1, over-tension, has ended." in told
    assert "tensionear job tools-out 17" in told
    assert "1: All pins out" in told  # of the checklist
    assert (
        max(len(line) for line in told.splitlines() if str(Path.home()) not in line and "/" not in line) <= 80
    )


def test_refused_plucks_are_kept_with_their_reason(job: Tensionear) -> None:
    told = job("read", RECORDINGS / "two-spans.flac", "--json")
    refused = [line for line in told.of_kind("pluck") if line["outcome"] == "refused"]
    assert refused
    assert all(line["reason"] and line["explanation"] and not line["counts"] for line in refused)
    shown = job("show", "17").out
    assert shown.count("refused: ") == len(refused)


def test_the_best_channel_of_a_recording_is_kept(job: Tensionear) -> None:
    told = job("read", RECORDINGS / "dead-channel.flac", "--go-on", "--json")
    assert {line["channel"] for line in told.of_kind("pluck")} == {2}
