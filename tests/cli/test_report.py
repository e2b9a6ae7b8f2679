"""What the set says, in the table and in JSON, of plucks whose fundamentals a test chooses."""

import json
from collections.abc import Sequence
from datetime import datetime
from typing import Any

import numpy as np
import pytest

from tensionear import __version__
from tensionear.belt.span import BeltSpan
from tensionear.cli.report import report_for
from tensionear.known_span import KnownSpan
from tensionear.pluck.listener import HeardPluck
from tensionear.pluck.outcome import PluckClip, PluckOutcome, PluckReading, PluckRefusal, RefusalReason
from tensionear.reading import BeltReading, read_pluck, summarise
from tensionear.task import BeltTask
from tests.compared import as_force

SPAN = BeltSpan(0.213, 0.0005, 0.165, 0.001)
TASK = BeltTask(KnownSpan.taken(SPAN, as_flexible=True), as_force(300.0, 420.0))


def heard(fundamental_hz: float | None) -> BeltReading:
    """A pluck that was read at a frequency, or refused."""
    clip = PluckClip(np.zeros(8, dtype=np.float32), 8000.0, 0)
    outcome: PluckOutcome
    if fundamental_hz is None:
        outcome = PluckRefusal(1.0, RefusalReason.TOO_WEAK, "Pluck harder.", 3.0)
    else:
        outcome = PluckReading(1.0, fundamental_hz, 0.05, 0.2, 30.0, 0.9, 0.0, 0.0, (), ())
    return read_pluck("invented", 1, HeardPluck(clip, outcome), TASK)


@pytest.fixture
def told(capsys: pytest.CaptureFixture[str]) -> Any:
    """Report plucks, as a table with its blanks made one and as JSON lines."""

    def report(*fundamentals_hz: float | None) -> tuple[str, list[dict[str, Any]]]:
        answers = []
        for as_json in (False, True):
            writer = report_for(TASK, as_json)
            writer.begin()
            readings = [heard(fundamental_hz) for fundamental_hz in fundamentals_hz]
            for reading in readings:
                writer.tell_pluck(reading)
            writer.tell_set(summarise(readings, TASK))
            answers.append(capsys.readouterr().out)
        return " ".join(answers[0].split()), [json.loads(line) for line in answers[1].splitlines()]

    return report


def test_an_octave_slip_is_named_kept_in_the_list_and_left_out_of_the_mean(told: Any) -> None:
    table, lines = told(110.0, None, 110.3, 220.4, 109.8, 110.1)
    together = lines[-1]
    assert "Set of 5 readings (1 refused):" in table
    assert (
        "marked #4, 220.400 ± 0.098 Hz, left out of the mean: partial 2 of the others' fundamental" in table
    )
    assert "verdict IN BAND" in table
    assert "far below the others" not in table
    assert together["marked"] == [
        {"number": 4, "fundamental_hz": 220.4, "mark": "partial 2 of the others' fundamental"}
    ]
    assert [line["number"] for line in lines if line["kind"] == "pluck"] == [1, 2, 3, 4, 5, 6]
    assert lines[4]["fundamental_hz"] == 220.4
    assert (together["n_readings"], together["n_refused"], together["n_in_mean"]) == (5, 1, 4)
    assert together["fundamental_hz"] == pytest.approx((110.0 + 110.3 + 109.8 + 110.1) / 4)
    assert (together["lowest_hz"], together["highest_hz"]) == (109.8, 220.4)
    assert (together["agree"], together["disagreement"], together["verdict"]) == (True, None, "in band")


def test_a_slip_below_warns_that_the_others_may_be_wrong(told: Any) -> None:
    table, _ = told(110.0, 110.3, 55.1, 109.8, 110.1)
    assert "left out of the mean: half the others' fundamental" in table
    assert "A pluck far below the others may be the right one, the others an octave too high" in table


@pytest.mark.parametrize(
    ("fundamentals_hz", "why", "n_marked"),
    [
        ((110.0, 220.0), "the readings differ by more than 3 %", 0),
        ((110.0, 110.1, 220.0), "a third or more of the readings stand apart", 1),
        ((110.0, 110.1, 220.0, 220.1), "the readings differ by more than 3 %", 0),
        ((110.0, 110.1, 112.5, 112.6), "the readings fall into two groups", 0),
    ],
)
def test_plucks_that_do_not_agree_get_no_mean_no_tension_and_no_verdict(
    fundamentals_hz: Sequence[float], why: str, n_marked: int, told: Any
) -> None:
    table, lines = told(*fundamentals_hz)
    together = lines[-1]
    ends = f"from {min(fundamentals_hz):.2f} to {max(fundamentals_hz):.2f} Hz: no mean"
    assert f"fundamental {ends} verdict NONE: THE PLUCKS DO NOT AGREE" in table
    assert f"The plucks do not agree: {why}." in table
    assert "take a new set, five plucks or more" in table
    assert "left out of the mean" not in table
    assert table.count("marked #") == len(together["marked"]) == n_marked
    assert (together["agree"], together["disagreement"], together["n_in_mean"]) == (False, why, 0)
    for name in (
        "fundamental_hz", "fundamental_standard_uncertainty_hz", "scatter_hz", "tension_n",
        "tension_standard_uncertainty_n", "tension_expanded_uncertainty_n", "coverage_factor", "verdict", "side",
    ):  # fmt: skip
        assert together[name] is None


def test_one_pluck_is_called_one_pluck(told: Any) -> None:
    table, _ = told(110.0, None)
    assert "Set of 1 reading (1 refused):" in table
    assert "This is one pluck: nothing is known of how plucks differ from each other" in table
    assert "This is one pluck" not in told(110.0, 110.1)[0]


def test_standard_and_expanded_uncertainties_fit_together(told: Any) -> None:
    _, (begin, *plucks, together) = told(110.0, 110.3, 109.8)
    assert begin["kind"] == "begin"
    assert begin["band"] == together["band"] == {"lower": 300.0, "upper": 420.0, "unit": "N"}
    for line in [*plucks, together]:
        expanded = line["coverage_factor"] * line["tension_standard_uncertainty_n"]
        assert line["tension_expanded_uncertainty_n"] == pytest.approx(expanded, rel=1e-12)
    # Student's t of the GUM's table G.2: 1.960 for a known uncertainty, 4.303 for 2 degrees of freedom.
    for line, factor in [(plucks[0], 1.960), (together, 4.303)]:
        expanded = line["fundamental_expanded_uncertainty_hz"]
        assert expanded == pytest.approx(factor * line["fundamental_standard_uncertainty_hz"], rel=3e-4)


def test_every_line_has_the_versions_and_the_first_says_when(told: Any) -> None:
    _, lines = told(110.0)
    assert {(line["format_version"], line["software_version"]) for line in lines} == {(2, __version__)}
    when = datetime.fromisoformat(lines[0]["analysed_at"])
    assert when.utcoffset() is not None
    assert abs((datetime.now().astimezone() - when).total_seconds()) < 3600
