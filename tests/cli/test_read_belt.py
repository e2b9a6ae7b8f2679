"""``read`` with stiffness, specification, rule, budget and next move, as people and programs are told.

Every belt and manual is invented.
"""

import json
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tensionear.belt.estimate import Estimate
from tensionear.belt.stiff_span import partial_frequency, tension_of_partial
from tensionear.calibration_file import BENDING, DENSITY, KeptCalibration, write_calibration
from tensionear.cli.reading_options import HowTold
from tensionear.cli.report import report_for
from tensionear.known_span import KnownSpan
from tensionear.pluck.listener import HeardPluck
from tensionear.pluck.outcome import PluckClip, PluckReading
from tensionear.reading import read_pluck, summarise
from tensionear.task import BeltTask
from tests.cli.command import Tensionear
from tests.compared import SPAN

LENGTH = ("--span-length-mm", "213")
BELT = (*LENGTH, "--linear-density-g-per-m", "165")
SOURCE = ("--source", "invented manual, page 12")
FORCE = ("--method", "force", *SOURCE)
STIFF = ("--bending-stiffness-n-m2", "0.03", "--ends", "clamped")


def words(text: str) -> str:
    """A text with its blanks made one."""
    return " ".join(text.split())


def test_a_stiffness_that_is_given_corrects_the_tension(three_plucks: Path, tensionear: Tensionear) -> None:
    told = tensionear("read", three_plucks, *BELT, *STIFF, "--belt-width-mm", "25", "--json")
    (together,) = told.of_kind("set")
    assert (together["span_model"], together["end_fixity"]) == ("stiff", 1.0)
    assert together["bending_stiffness_n_m2"] == 0.03
    swinging = 0.165 + together["air_kg_per_m"]
    # A flat strip carries along the air of a cylinder of its width: π·1.2 kg/m³·w²/4 (Lamb, from memory).
    assert together["air_kg_per_m"] == pytest.approx(np.pi * 1.2 * 0.025**2 / 4, rel=0.01)
    assert together["tension_n"] == pytest.approx(
        float(tension_of_partial(together["fundamental_hz"], 0.213, swinging, 0.03, 1.0))
    )
    assert together["flexible_tension_n"] == pytest.approx(
        4 * swinging * 0.213**2 * together["fundamental_hz"] ** 2
    )


def test_a_calibration_that_was_kept_gives_density_and_stiffness(
    three_plucks: Path, tmp_path: Path, tensionear: Tensionear
) -> None:
    kept = KeptCalibration(
        Estimate(0.165, 0.0005),
        Estimate(0.03, 0.001),
        Estimate(1.0),
        {(DENSITY, BENDING): -0.4},
        True,
        "2026-01-01",
    )
    path = tmp_path / "belt.json"
    write_calibration(path, kept)
    told = tensionear("read", three_plucks, *LENGTH, "--calibration", path, "--budget", "--json")
    inputs = {line["name"]: line for line in told.of_kind("budget_input")}
    assert inputs["bending stiffness"]["origin"] == inputs["linear density"]["origin"] == "calibration"
    assert inputs["end fixity"]["origin"] == "unknown"  # the rig's clamps are no pulleys
    assert inputs["sound card clock"]["evaluation"] == "B"
    (result,) = told.of_kind("budget_result")
    assert result["value"] == told.of_kind("set")[0]["tension_n"]
    assert result["dominant"] == "end fixity"


def test_nothing_said_of_the_stiffness_is_said_and_undecided(
    three_plucks: Path, tensionear: Tensionear
) -> None:
    told = tensionear("read", three_plucks, *BELT, "--band-n", "340", "400", *FORCE)
    assert "linear density 165 g/m (within 1.65 g/m), stiffness not known." in words(told.out)
    assert "as if flexible 362.5 N, too high by up to 27 %" in words(told.out)
    assert "verdict UNDECIDED" in words(told.out)
    assert "Nothing is known of the belt's stiffness" in words(told.out)
    assert "The unknown stiffness limits the static tension most" in words(told.out)


def test_verdict_method_way_out_and_next_move_stand_together(
    three_plucks: Path, tensionear: Tensionear
) -> None:
    told = tensionear("read", three_plucks, *BELT, *STIFF, "--band-n", "300", "420", *FORCE)
    said = words(told.out)
    assert "verdict UNDECIDED: NEAR THE LOWER LIMIT in band with a probability of" in said
    assert "compared The tension, corrected for the belt's stiffness, is compared with" in said
    assert "Source: invented manual, page 12." in said
    assert "way out Calibrating the bending stiffness to ± " in said
    target_hz = float(partial_frequency(360.0, 0.213, 0.165, 0.03, 1.0))
    move = f"{target_hz:.4g} Hz, 360 N: {target_hz - 110.03:.2g} Hz more,"
    assert f"next move To the middle of the band, {move}" in said
    assert "limited by The bending stiffness limits the static tension most" in said
    lines = tensionear("read", three_plucks, *BELT, *STIFF, "--band-n", "300", "420", *FORCE, "--json").lines
    together = lines[-1]
    assert together["compared_quantity"] == "stiffness-corrected tension"
    assert together["way_out"]["decides"]
    assert together["move"]["target_n"] == pytest.approx(360)
    assert together["move"]["target_hz"] == pytest.approx(target_hz)
    assert together["limited_by"]["name"] == "bending stiffness"
    assert 0 < together["conformance_probability"] < 0.5
    assert lines[0]["comparison_sentence"] == together["comparison_sentence"]


def test_a_vibrations_tension_is_compared_by_its_own_formula(
    three_plucks: Path, tensionear: Tensionear
) -> None:
    stated = ("--stated-span-length-mm", "200", "--stated-linear-density-g-per-m", "180")
    arguments = (*BELT, *STIFF, "--band-n", "330", "370", "--method", "vibration", *stated, *SOURCE)
    (together,) = tensionear("read", three_plucks, *arguments, "--json").of_kind("set")
    assert together["verdict"] == "in band"
    assert together["constants"]["span_length_m"] == 0.2
    assert together["compared_value"] == pytest.approx(4 * 0.18 * 0.2**2 * together["fundamental_hz"] ** 2)
    assert together["tension_n"] < 300
    assert "by 4·m·L²·f² 348.7 ± " in words(tensionear("read", three_plucks, *arguments).out)


def test_a_baseline_is_no_specification_and_says_so(three_plucks: Path, tensionear: Tensionear) -> None:
    arguments = ("--baseline-hz", "110", "--baseline-percent", "3", "--baseline-job", "job 17")
    told = tensionear("read", three_plucks, *arguments)
    assert "There is no specification." in told.out
    assert "verdict         IN BAND" in told.out
    (together,) = tensionear("read", three_plucks, *arguments, "--json").of_kind("set")
    assert together["is_specification"] is False


def test_the_decision_rule_is_chosen_told_and_recorded(three_plucks: Path, tensionear: Tensionear) -> None:
    band = ("--band-hz", "109.9", "122", *SOURCE)
    assert tensionear("read", three_plucks, *band, "--json").lines[-1]["verdict"] == "undecided"
    chosen = (*band, "--decision-rule", "probability", "--asked-probability", "60")
    told = tensionear("read", three_plucks, *chosen, "--json").lines[-1]
    assert (told["verdict"], told["asked_probability"]) == ("in band", 0.6)
    assert told["decision_rule"] == "stated conformance probability"
    said = tensionear("read", three_plucks, *chosen).out
    assert "Decision rule: stated conformance probability of 60 %." in said


def test_pounds_and_inches_are_told_if_they_were_typed(three_plucks: Path, tensionear: Tensionear) -> None:
    typed = (
        "--span-length-in", "8.386", "--linear-density-g-per-m", "165", "--flexible",
        "--band-lbf", "70", "95", *FORCE,
    )  # fmt: skip
    told = tensionear("read", three_plucks, *typed)
    assert "Span length 8.386 in (within 0.0394 in)" in told.out
    assert "Compared: the stiffness-corrected tension, with 70 to 95 lbf." in told.out
    assert " lbf, taken as flexible" in told.out
    assert "the verdict holds only for a belt without stiffness" in words(told.out)
    (together,) = tensionear("read", three_plucks, *typed, "--json").of_kind("set")
    assert together["band"]["lower"] == pytest.approx(70 * 4.4482216152605)
    newtons = tensionear("read", three_plucks, *typed, "--tell-in", "N", "--tell-in", "mm").out
    assert "with 311.4 to 422.6 N." in newtons
    assert "Span length 213.004 mm" in newtons


def test_advice_is_told_in_the_units_that_are_wanted(three_plucks: Path, tensionear: Tensionear) -> None:
    narrow = ("--band-n", "360", "366", "--method", "vibration", "--stated-for-this-span", *SOURCE)
    said = words(tensionear("read", three_plucks, *BELT, *narrow, "--tell-in", "lbf", "--tell-in", "in").out)
    assert "measuring the span to ± 0.02 in instead of ± 0.039 in" in said
    assert re.search(r"it is known only to ± 0\.\d+ lbf", said)


def test_what_is_compared_has_its_budget_too(three_plucks: Path, tensionear: Tensionear) -> None:
    band = ("--band-hz", "100", "120", *SOURCE, "--budget")
    assert "Budget of the fundamental frequency, k = " in tensionear("read", three_plucks, *band).out
    (result,) = tensionear("read", three_plucks, *band, "--json").of_kind("budget_result")
    assert (result["name"], result["dominant"]) == ("fundamental frequency", "fundamental")


def test_the_belt_that_a_value_is_stated_for_is_told(three_plucks: Path, tensionear: Tensionear) -> None:
    told = tensionear("read", three_plucks, "--band-hz", "100", "120", "--state", "new", *SOURCE)
    assert "100 to 120 Hz (new belt)" in words(told.out)


@pytest.fixture
def told_set(capsys: pytest.CaptureFixture[str]) -> Any:
    """Report five plucks by the way that is asked for."""

    def report(how: HowTold, as_json: bool, fundamentals_hz: Sequence[float]) -> str:
        task = BeltTask(KnownSpan.taken(SPAN))
        writer = report_for(task, as_json, how)
        clip = PluckClip(np.zeros(8, dtype=np.float32), 8000.0, 0)
        readings = [
            read_pluck("invented", 1, HeardPluck(clip, PluckReading(1.0, hz, 0.05, 0.2, 30, 0.9, 0, 0, (), ())), task)
            for hz in fundamentals_hz
        ]  # fmt: skip
        for reading in readings:
            writer.tell_pluck(reading)
        writer.tell_set(summarise(readings, task))
        return capsys.readouterr().out

    return report


PLUCKS_HZ = (110.0, 110.1, 109.9, 110.2, 110.0, 109.95, 110.05)


def test_monte_carlo_agrees_with_the_budget(told_set: Any) -> None:
    lines = [json.loads(line) for line in told_set(HowTold(seed=1), True, PLUCKS_HZ).splitlines()]
    together = next(line for line in lines if line["kind"] == "set")
    trials = next(line for line in lines if line["kind"] == "budget_trials")
    assert trials["mean"] == pytest.approx(together["tension_n"], rel=0.005)
    assert trials["standard_uncertainty"] == pytest.approx(
        together["tension_standard_uncertainty_n"], rel=0.02
    )
    assert "95 % lie from" in words(told_set(HowTold(seed=1), False, PLUCKS_HZ))


def test_the_budget_table_fits_80_columns(told_set: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    table = told_set(HowTold(with_budget=True), False, PLUCKS_HZ)
    assert max(len(line) for line in table.splitlines()) <= 80
    rows = table.split("Budget of the static tension", 1)[1].splitlines()[1:]
    assert [row[:17].strip() for row in rows if row] == [
        "input", "fundamental", "span length", "linear density", "bending stiffness", "end fixity",
        "unknown stiffness", "sound card clock",
    ]  # fmt: skip
