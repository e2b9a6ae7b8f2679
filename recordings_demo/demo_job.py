"""The invented job, done in an archive as a technician does one, with the recordings as its microphone."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.span import BeltSpan
from tensionear.belt.specification import Specification
from tensionear.belt.stated_value import BeltState, Method, ReferenceSpan, Stated
from tensionear.job import deeds
from tensionear.job.archive.archive import Archive
from tensionear.job.details import JobDetails
from tensionear.job.hearing import kept
from tensionear.job.passes import PassKind, Step
from tensionear.job.results import PassResult, pass_result
from tensionear.job.setup import ChecklistLine, Direction, RunInPlan, Setup
from tensionear.job.span_document import SpanDocument
from tensionear.job.specification_document import SpecificationDocument
from tensionear.known_span import KnownSpan
from tensionear.reading import BeltReading, read_pluck, read_recording
from tensionear.task import BeltTask

NUMBER = "demonstration 1"
KINDS = {
    "over-tension": PassKind.OVER_TENSION,
    "run-in": PassKind.RUN_IN,
    "final-setting": PassKind.FINAL_SETTING,
    "re-check": PassKind.RE_CHECK,
}


def demo_setup(job: dict[str, Any], revolutions: int) -> Setup:
    """The setup of the invented job.

    Parameters
    ----------
    job : dict
        ``job.json``.
    revolutions : int
        Of the run-in.
    """
    bands = {KINDS[each["name"]]: each["band_n"] for each in job["passes"] if each["band_n"] is not None}
    states = {PassKind.OVER_TENSION: BeltState.OVER_TENSION, PassKind.FINAL_SETTING: BeltState.ANY}
    stated = tuple(
        Stated(state, ToleranceBand(bands[kind][0], bands[kind][1], BandUnit.NEWTON))
        for kind, state in states.items()
        if kind in bands
    )
    name = job["specification"]["name"]
    specification = Specification(Method.VIBRATION_TENSION, stated, name, ReferenceSpan())
    # The invented specification is meant for a span that is taken as flexible.
    known = KnownSpan.taken(BeltSpan.from_workshop_units(**job["span"]), as_flexible=True)
    return Setup(
        name="Demonstration",
        engine=job["engine"],
        belt=job["belt"],
        span_name="the long span",
        span=SpanDocument.of(known),
        span_length_how="invented",
        linear_density_how="invented",
        stiffness_how="taken as flexible, as the invented specification takes it",
        specification=SpecificationDocument.of(specification),
        run_in=RunInPlan(revolutions=revolutions, direction=Direction.CLOCKWISE),
        checklist=(
            ChecklistLine(step=Step.TOOLS_OUT, text="crankshaft pin and camshaft plate out"),
            ChecklistLine(
                step=Step.FINAL_SETTING, text="tensioner nut (invented torque)", value=25, unit="N m"
            ),
        ),
        notes=job["note"],
    )


class DemoJob:
    """The invented job in an archive.

    Parameters
    ----------
    archive : Archive
        Where it is kept.
    setup : Setup
        From `demo_setup`.
    """

    def __init__(self, archive: Archive, setup: Setup) -> None:
        self._archive = archive
        archive.add_setup(setup)
        details = JobDetails(
            vehicle="Invented vehicle 'Example Estate'",
            registration="EX-AMPLE 1",
            odometer_km=120_000,
            technician="A. Example (invented)",
            workshop="Invented workshop 'Example Yard'",
            ambient_c=20,
        )
        archive.open_job(setup.name, details, number=NUMBER, is_demonstration=True)
        self._do(lambda job: deeds.acknowledge_cautions(job.state, job.setup))

    def before(self, kind: PassKind) -> None:
        """What a technician does, and ticks, before a pass."""
        if kind is PassKind.RUN_IN:
            self._do(lambda job: deeds.tick(job.state, job.setup, 1))
            self._do(lambda job: deeds.do_step(job.state, Step.TOOLS_OUT))
        elif kind is PassKind.FINAL_SETTING:
            self._do(lambda job: deeds.do_step(job.state, Step.TOP_DEAD_CENTRE))
            self._do(lambda job: deeds.tick(job.state, job.setup, 2))

    def heard(self, kind: PassKind, recording: Path, turned: list[float]) -> Iterator[BeltReading]:
        """Hear a pass from a recording, each pluck kept before it is given.

        Parameters
        ----------
        kind : PassKind
            Which pass.
        recording : Path
            Its sound.
        turned : list of float
            Revolutions by hand before each pluck.
        """
        self._do(lambda job: deeds.begin_pass(job.state, job.setup, kind))
        task = self._archive.job(NUMBER).setup.task_for(kind)
        before = dict(enumerate(turned))
        for number, reading in enumerate(read_recording(recording, BeltTask())):
            revolutions = before.get(number, 0.0)
            if revolutions:
                self._do(lambda job, by=revolutions: deeds.turn(job.state, job.setup, by))
            pluck, flac = kept(reading.pluck, reading.source, reading.channel, is_recording=True)
            self._archive.keep_pluck(NUMBER, pluck, flac)
            heard = replace(reading.pluck, outcome=pluck.outcome.pluck_outcome())
            yield read_pluck(reading.source, reading.channel, heard, task)
        self._do(lambda job: deeds.end_pass(job.state))

    def result(self) -> PassResult:
        """What the last pass says."""
        job = self._archive.job(NUMBER)
        return pass_result(job.state.passes[-1], job.setup)

    def close(self) -> None:
        """All is done."""
        self._do(lambda job: deeds.close_job(job.state, job.setup))

    def _do(self, deed: Any) -> None:
        self._archive.write_down(NUMBER, deed)


def now() -> datetime:
    """The moment, with its time zone."""
    return datetime.now(UTC)
