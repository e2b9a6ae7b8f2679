"""The invented job, heard through the same way as a microphone: what was heard, beside what is true.

``python3 dev.py demo`` starts it. It ends with 1 if a reading is wrong, so that nobody has to take its word.
"""

import json
import sys
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from statistics import fmean
from typing import Any

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.span import BeltSpan
from tensionear.belt.specification import Specification
from tensionear.belt.stated_value import BeltState, Method, ReferenceSpan, Stated
from tensionear.cautions import cautions_text
from tensionear.errors import TensionearError
from tensionear.figures import half_width, with_uncertainty
from tensionear.known_span import KnownSpan
from tensionear.picture import draw_pluck
from tensionear.pluck.outcome import PluckRefusal
from tensionear.reading import BeltReading, read_recording, summarise
from tensionear.task import BeltTask
from tensionear.words import verdict_words

FOLDER = Path(__file__).parent
PICTURES = Path("demo_output")

LARGEST_ERROR = 0.005
"""A reading further than this from the true fundamental is wrong. [1]"""

LARGEST_DELAY_S = 0.1
"""A reading further than this from every true pluck was read from something else. [s]"""


@dataclass
class Tally:
    """What became of all that was heard."""

    n_right: int = 0
    n_wrong: int = 0
    n_refused: int = 0


def main() -> int:
    """Play the job; return the exit code."""
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(errors="replace")  # a terminal without "±" must not stop the demo
    job = json.loads((FOLDER / "job.json").read_text(encoding="utf-8"))
    span = BeltSpan.from_workshop_units(**job["span"])
    PICTURES.mkdir(exist_ok=True)
    tally = Tally()

    say(f"A demonstration. {job['note']}")
    specification = job["specification"]
    say(f"{job['engine']}; {job['belt']}; {specification['name']}, stated for {specification['stated_for']}.")
    length = half_width(span.span_length_m, span.span_length_standard_uncertainty_m, 1e3, "mm")
    density = half_width(
        span.linear_density_kg_per_m, span.linear_density_standard_uncertainty_kg_per_m, 1e3, "g/m"
    )
    say(f"Span length {length}, linear density {density}.")
    say("The sound is simulated from string physics; that is how the true values are known.")

    print("\n==== The job, pass by pass ====")
    for each in job["passes"]:
        hear_pass(each, span, tally)
    print("\n==== Hard cases: read rightly or refused ====")
    for each in job["hard_cases"]:
        announce(each)
        for _ in heard(each, BeltTask(), tally):
            pass

    print("\n==== What it comes to ====")
    print(
        f"{tally.n_right} readings within {LARGEST_ERROR:.1%} of the true fundamental, "
        f"{tally.n_wrong} wrong, {tally.n_refused} refused."
    )
    say(
        "The span is taken as flexible, as the invented specification is meant. A real belt is stiff: the true"
        " tension of a short span may be lower by 3 to 21 %. Compare such a tension only with a value that its"
        " maker states for a reading by vibration."
    )
    print(f"\nPictures of plucks, with their fits and spectra: {PICTURES.resolve()}")
    print(f"\nBefore a real belt is touched:\n{cautions_text()}")
    return 1 if tally.n_wrong else 0


def hear_pass(each: dict[str, Any], span: BeltSpan, tally: Tally) -> None:
    """Tell the plucks of one pass, and its verdict."""
    announce(each)
    known = KnownSpan.taken(span, as_flexible=True)  # the invented specification is meant so
    if each["band_n"] is None:  # the belt settles from pluck to pluck: no set, and no verdict
        for _ in heard(each, BeltTask(known), tally):
            pass
        return
    lower, upper = each["band_n"]
    stated = Stated(BeltState.ANY, ToleranceBand(lower, upper, BandUnit.NEWTON))
    specification = Specification(Method.VIBRATION_TENSION, (stated,), "invented", ReferenceSpan())
    task = BeltTask(known, specification.comparison(BeltState.ANY, span))
    together = summarise(heard(each, task, tally), task)
    if together.tension is None or together.decision is None:
        print("  together  no reading")
        return
    true_n = fmean(pluck["flexible_span_tension_n"] for pluck in truths(each))
    tension = with_uncertainty(together.tension.value, together.tension.expanded_uncertainty, "N")
    verdict = verdict_words(together.decision).upper()
    print(f"  together  {tension}; true {true_n:.1f} N, for the span taken as flexible")
    print(f"  verdict   {verdict}, from {lower:g} to {upper:g} N; expected: {each['expected_verdict']}")


def announce(each: dict[str, Any]) -> None:
    """Tell what is going to be heard."""
    print(f"\n{each['name']} ({each['recording']})")
    say(each["about"], indent="  ")


def heard(each: dict[str, Any], task: BeltTask, tally: Tally) -> Iterator[BeltReading]:
    """Tell each pluck of a recording beside the truth; draw the first, and the first that is refused."""
    drawn: set[bool] = set()
    for reading in read_recording(FOLDER / each["recording"], task):
        outcome = reading.pluck.outcome
        print(row(reading, nearest(each, outcome.at_s), tally), flush=True)
        refused = isinstance(outcome, PluckRefusal)
        if refused not in drawn:
            drawn.add(refused)
            path = PICTURES / f"{each['name']}{'-refused' if refused else ''}.png"
            draw_pluck(reading.pluck, path, title=f"invented demonstration, {each['recording']}")
        yield reading


def row(reading: BeltReading, truth: dict[str, Any] | None, tally: Tally) -> str:
    """One pluck beside the truth, counted."""
    true_hz = None if truth is None else truth["fundamental_hz"]
    true = "no pluck there" if true_hz is None else f"true {true_hz:7.2f} Hz"
    outcome = reading.pluck.outcome
    start = f"  {outcome.at_s:6.2f} s"
    if isinstance(outcome, PluckRefusal):
        tally.n_refused += 1
        return f"{start}  refused: {outcome.reason:<29}  {true}"
    off = None if true_hz is None else outcome.fundamental_hz / true_hz - 1.0
    right = off is not None and abs(off) <= LARGEST_ERROR
    tally.n_right += right
    tally.n_wrong += not right
    assert reading.fundamental is not None  # noqa: S101 - tells mypy
    figure = with_uncertainty(reading.fundamental.value, reading.fundamental.expanded_uncertainty, "Hz")
    tension = (
        ""
        if reading.tension is None
        else with_uncertainty(reading.tension.value, reading.tension.expanded_uncertainty, "N")
    )
    said = "" if off is None else f"  off {off:+.2%}"
    return f"{start}  {figure:>19}  {tension:>14}    {true}{said}{'' if right else '  WRONG'}"


def truths(each: dict[str, Any]) -> list[dict[str, Any]]:
    """Look up the true plucks of a recording."""
    beside = (FOLDER / each["recording"]).with_suffix(".json")
    plucks: list[dict[str, Any]] = json.loads(beside.read_text(encoding="utf-8"))["plucks"]
    return plucks


def nearest(each: dict[str, Any], at_s: float) -> dict[str, Any] | None:
    """Look up the true pluck at a time; None if there was none."""
    pluck = min(truths(each), key=lambda truth: abs(float(truth["at_s"]) - at_s))
    return pluck if abs(float(pluck["at_s"]) - at_s) <= LARGEST_DELAY_S else None


def say(words: str, indent: str = "") -> None:
    """Print a sentence, broken where a terminal ends."""
    print(textwrap.fill(words, 96, initial_indent=indent, subsequent_indent=indent))


if __name__ == "__main__":
    try:
        sys.exit(main())
    except TensionearError as error:
        sys.exit(f"demo: {error}")
