"""The invented job from over-tension to its record: what was heard beside what is true, and the proof of it.

``python3 dev.py demo`` starts it. It ends with 1 if a reading is wrong or the record does not
prove what was heard, so that nobody has to take its word.
"""

import json
import sys
import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from statistics import fmean
from typing import Any

from recordings_demo.demo_job import KINDS, NUMBER, DemoJob, demo_setup, now
from tensionear.belt.span import BeltSpan
from tensionear.cautions import cautions_text
from tensionear.errors import TensionearError
from tensionear.figures import half_width, with_uncertainty
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.opening import open_archive
from tensionear.job.bundle.bundle_file import write_bundle
from tensionear.job.record.record_making import add_record, bundle_files
from tensionear.job.verification.verifying import verify_bundle
from tensionear.picture import draw_pluck
from tensionear.pluck.outcome import PluckRefusal
from tensionear.reading import BeltReading, read_recording
from tensionear.task import BeltTask
from tensionear.words import verdict_words

FOLDER = Path(__file__).parent
OUTPUT = Path("demo_output")
ARCHIVE, BUNDLE = OUTPUT / "archive.sqlite", OUTPUT / "record.zip"

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
    OUTPUT.mkdir(exist_ok=True)
    for old in (BUNDLE, *OUTPUT.glob(f"{ARCHIVE.name}*")):
        old.unlink(missing_ok=True)  # every demonstration is a job of its own
    tally = Tally()

    tell_what_is_known(job)
    say("The sound is simulated from string physics; that is how the true values are known.")
    print("\n==== The job, pass by pass ====")
    with open_archive(str(ARCHIVE)) as archive:
        turned = {each["name"]: revolutions_before(each) for each in job["passes"]}
        doing = DemoJob(archive, demo_setup(job, round(sum(turned.get("run-in", [])) or 1)))
        for each in job["passes"]:
            hear_pass(each, doing, turned[each["name"]], tally)
        is_proven = make_record(archive, doing)
    print("\n==== Hard cases: read rightly or refused ====")
    for each in job["hard_cases"]:
        announce(each)
        for _ in told(read_recording(FOLDER / each["recording"], BeltTask()), each, tally):
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
    print(f"\nThe record, with a PDF to look at in it: {BUNDLE.resolve()}")
    print(f"The archive that it is from: {ARCHIVE.resolve()}")
    print(f"Pictures of plucks, with their fits and spectra: {OUTPUT.resolve()}")
    print(f"\nBefore a real belt is touched:\n{cautions_text()}")
    return 1 if tally.n_wrong or not is_proven else 0


def tell_what_is_known(job: dict[str, Any]) -> None:
    """Tell what the job is about."""
    span, specification = BeltSpan.from_workshop_units(**job["span"]), job["specification"]
    say(f"A demonstration. {job['note']}")
    say(f"{job['engine']}; {job['belt']}; {specification['name']}, stated for {specification['stated_for']}.")
    length = half_width(span.span_length_m, span.span_length_standard_uncertainty_m, 1e3, "mm")
    density = half_width(
        span.linear_density_kg_per_m, span.linear_density_standard_uncertainty_kg_per_m, 1e3, "g/m"
    )
    say(f"Span length {length}, linear density {density}.")


def hear_pass(each: dict[str, Any], doing: DemoJob, turned: list[float], tally: Tally) -> None:
    """Do a pass, and tell its plucks and its verdict."""
    announce(each)
    kind = KINDS[each["name"]]
    doing.before(kind)
    for _ in told(doing.heard(kind, FOLDER / each["recording"], turned), each, tally):
        pass
    if each["band_n"] is None:  # the belt settles from pluck to pluck: no set, and no verdict
        return
    lower, upper = each["band_n"]
    together = doing.result().together
    if together.tension is None or together.decision is None:
        print("  together  no reading")
        return
    true_n = fmean(pluck["flexible_span_tension_n"] for pluck in truths(each))
    tension = with_uncertainty(together.tension.value, together.tension.expanded_uncertainty, "N")
    verdict = verdict_words(together.decision).upper()
    print(f"  together  {tension}; true {true_n:.1f} N, for the span taken as flexible")
    print(f"  verdict   {verdict}, from {lower:g} to {upper:g} N; expected: {each['expected_verdict']}")


def make_record(archive: Archive, doing: DemoJob) -> bool:
    """Make the record's bundle and check it as whoever gets it would; tell whether it is as it was."""
    doing.close()
    print("\n==== The record ====")
    kept = add_record(archive, NUMBER)
    write_bundle(BUNDLE, bundle_files(kept.document or b"", archive.content, now()))
    checked = verify_bundle(BUNDLE)
    if checked.record is not None:
        found = checked.record.found
        say(found.conclusion)
        if found.run_in is not None:
            say(f"The belt {found.run_in.sentence}.")
    said = "nothing was changed" if checked.is_as_it_was else "it is NOT as it was"
    say(
        f"Checked anew: {said}, every figure follows from its log, and the sound of {checked.n_plucks_read} plucks"
        " was read again."
        if checked.is_as_it_was
        else f"Checked anew: {said}: {'; '.join(finding.sentence for finding in checked.findings)}"
    )
    return checked.is_as_it_was


def revolutions_before(each: dict[str, Any]) -> list[float]:
    """How far the engine was turned before each pluck of a pass."""
    total = [float(pluck.get("revolutions", 0)) for pluck in truths(each)]
    return [now - before for before, now in pairwise([0.0, *total])]


def announce(each: dict[str, Any]) -> None:
    """Tell what is going to be heard."""
    print(f"\n{each['name']} ({each['recording']})")
    say(each["about"], indent="  ")


def told(readings: Iterable[BeltReading], each: dict[str, Any], tally: Tally) -> Iterator[BeltReading]:
    """Tell each pluck of a recording beside the truth; draw the first, and the first that is refused."""
    drawn: set[bool] = set()
    for reading in readings:
        outcome = reading.pluck.outcome
        print(row(reading, nearest(each, outcome.at_s), tally), flush=True)
        refused = isinstance(outcome, PluckRefusal)
        if refused not in drawn:
            drawn.add(refused)
            path = OUTPUT / f"{each['name']}{'-refused' if refused else ''}.png"
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
