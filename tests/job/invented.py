"""An invented job for the tests of the room, made without a sound; nothing in it is a real engine, belt or person.

The values are those of ``recordings_demo/job.json``: on its span T = 4·m·L²·f² makes 150 Hz 674 N, 118 Hz 417 N.
"""

import hashlib
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.span import BeltSpan
from tensionear.belt.specification import Specification
from tensionear.belt.stated_value import BeltState, Method, ReferenceSpan, Stated
from tensionear.job.canonical_json import write_canonical
from tensionear.job.course import cautions_for
from tensionear.job.details import JobDetails
from tensionear.job.log import (
    CautionsAcknowledged,
    Fact,
    JobClosed,
    JobOpened,
    LineTicked,
    LogEntry,
    NoteAdded,
    PassBegun,
    PassEnded,
    PluckKept,
    SetupTaken,
    StepDone,
    Turned,
)
from tensionear.job.passes import PassKind, Step
from tensionear.job.pluck_document import (
    PartialDocument,
    PluckDocument,
    ReadingDocument,
    RefusalDocument,
    RivalDocument,
    SoundDocument,
)
from tensionear.job.setup import ChecklistLine, Direction, RunInPlan, Setup
from tensionear.job.span_document import SpanDocument
from tensionear.job.specification_document import SpecificationDocument
from tensionear.job.state import JobState, state_of
from tensionear.known_span import KnownSpan
from tensionear.pluck.outcome import RefusalReason

SPAN = BeltSpan(0.213, 0.0005, 0.165, 0.001)
KNOWN_SPAN = KnownSpan.taken(SPAN, as_flexible=True)
OVER_TENSION_BAND_N = ToleranceBand(600.0, 760.0, BandUnit.NEWTON)
FINAL_BAND_N = ToleranceBand(380.0, 460.0, BandUnit.NEWTON)
SPECIFICATION = Specification(
    Method.VIBRATION_TENSION,
    (Stated(BeltState.OVER_TENSION, OVER_TENSION_BAND_N), Stated(BeltState.ANY, FINAL_BAND_N)),
    "Invented specification 'Example Sheet 1'",
    ReferenceSpan(),
)

FIRST_MOMENT = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
"""When an invented job is opened; its entries follow by the minute."""

OVER_TENSION_HZ = (150.2, 149.8, 150.1, 149.9, 150.0)
RUN_IN_HZ = (141.0, 133.0, 128.5, 126.0, 125.0)
"""After every two revolutions."""

FINAL_HZ = (118.2, 117.8, 118.1, 117.9, 118.0)
RE_CHECK_HZ = (117.2, 116.8, 117.1, 116.9, 117.0)


def invented_setup(**changes: object) -> Setup:
    """A complete setup with ten revolutions of run-in; `changes` are fields that are to be otherwise."""
    given: dict[str, object] = {
        "name": "Example Four, long span",
        "engine": "Invented engine 'Example Four'",
        "belt": "Invented timing belt 'Example Belt', 25 mm wide",
        "span_name": "between crankshaft and intake camshaft",
        "span": SpanDocument.of(KNOWN_SPAN),
        "span_length_how": "steel rule, three times",
        "linear_density_how": "a new belt weighed",
        "stiffness_how": "taken as flexible, as the specification takes it",
        "specification": SpecificationDocument.of(SPECIFICATION),
        "run_in": RunInPlan(revolutions=10, direction=Direction.CLOCKWISE),
        "checklist": (
            ChecklistLine(step=Step.TOOLS_OUT, text="crankshaft pin out"),
            ChecklistLine(step=Step.FINAL_SETTING, text="tensioner bolt", value=25.0, unit="N m"),
        ),
        "cautions": ("Invented caution: let the engine cool to room temperature.",),
        "notes": "Invented. No value may be used on anything real.",
    }
    return Setup.model_validate({**given, **changes})


def invented_details(**changes: object) -> JobDetails:
    """Complete details; `changes` are fields that are to be otherwise."""
    given: dict[str, object] = {
        "vehicle": "Invented vehicle 'Example Estate', 2019",
        "registration": "EX-4711",
        "chassis_number": "INVENTED000000001",
        "odometer_km": 121_500.0,
        "technician": "Zofia Żółć",
        "workshop": "Invented workshop 'Example Yard'",
        "ambient_c": 18.5,
        "belt_c": 20.0,
    }
    return JobDetails.model_validate({**given, **changes})


def sound_document(name: str = "a pluck", *, flac_sha256: str | None = None) -> SoundDocument:
    """A sound that is nowhere: its hash is of `name`, unless it is given."""
    return SoundDocument(
        flac_sha256=flac_sha256 or hashlib.sha256(name.encode()).hexdigest(),
        sample_rate_hz=48_000,
        onset=4_800,
        first_sample=96_000,
        source="invented microphone",
        channel=1,
        is_recording=False,
    )


def invented_pluck(
    fundamental_hz: float,
    *,
    standard_uncertainty_hz: float = 0.02,
    name: str | None = None,
    flac_sha256: str | None = None,
) -> PluckDocument:
    """A pluck that was read; two at one fundamental are one sound unless `name` tells them apart."""
    return PluckDocument(
        sound=sound_document(name or f"read at {fundamental_hz!r}", flac_sha256=flac_sha256),
        estimator_version=1,
        outcome=ReadingDocument(
            at_s=2.1,
            fundamental_hz=fundamental_hz,
            fundamental_standard_uncertainty_hz=standard_uncertainty_hz,
            ring_time_s=0.21,
            snr_db=38.5,
            support=0.93,
            stretch=1.2e-4,
            glide_hz=0.4,
            partials=(
                PartialDocument(number=1, frequency_hz=fundamental_hz, amplitude=0.11, ring_time_s=0.21),
                PartialDocument(
                    number=2, frequency_hz=2.001 * fundamental_hz, amplitude=0.07, ring_time_s=0.15
                ),
            ),
            rivals=(RivalDocument(fundamental_hz=fundamental_hz / 2, support=0.08),),
        ),
    )


def refused_pluck(
    reason: RefusalReason = RefusalReason.TOO_WEAK,
    *,
    name: str = "a refused pluck",
    flac_sha256: str | None = None,
) -> PluckDocument:
    """A pluck that was refused."""
    return PluckDocument(
        sound=sound_document(name, flac_sha256=flac_sha256),
        estimator_version=1,
        outcome=RefusalDocument(
            at_s=2.1,
            reason=reason,
            explanation="an invented refusal: pluck once more",
            snr_db=None,
            rivals=(),
        ),
    )


def setup_taken(setup: Setup, version: int = 1, reason: str = "") -> SetupTaken:
    """That a job goes by this setup."""
    content = write_canonical(setup.model_dump(mode="json"))
    return SetupTaken(
        setup_name=setup.name,
        setup_version=version,
        setup_sha256=hashlib.sha256(content).hexdigest(),
        reason=reason,
    )


def invented_log(
    facts: Iterable[Fact] = (),
    *,
    setup: Setup | None = None,
    details: JobDetails | None = None,
    is_demonstration: bool = True,
) -> tuple[LogEntry, ...]:
    """A log that opens an invented job, takes its setup and goes on with `facts`, one a minute."""
    opened = JobOpened(details=details or invented_details(), is_demonstration=is_demonstration)
    return entries((opened, setup_taken(setup or invented_setup()), *facts))


def entries(facts: Iterable[Fact]) -> tuple[LogEntry, ...]:
    """Facts as the entries of a log, from its first on, one a minute."""
    return tuple(
        LogEntry(
            number=number,
            at=FIRST_MOMENT + timedelta(minutes=number - 1),
            by="Zofia Żółć",
            software_version="0.0.0",
            fact=fact,
        )
        for number, fact in enumerate(facts, 1)
    )


def invented_state(facts: Iterable[Fact] = (), *, setup: Setup | None = None) -> JobState:
    """The job of `invented_log`."""
    return state_of(invented_log(facts, setup=setup))


def a_pass(
    kind: PassKind,
    plucks: Sequence[PluckDocument],
    *,
    number: int = 1,
    first_pluck: int = 1,
    reason: str = "",
) -> list[Fact]:
    """A pass from its begin to its end, as pass `number` of a job that has `first_pluck` - 1 plucks."""
    return [
        PassBegun(pass_number=number, pass_kind=kind, reason=reason),
        *(
            PluckKept(pass_number=number, pluck_number=pluck_number, pluck=pluck)
            for pluck_number, pluck in enumerate(plucks, first_pluck)
        ),
        PassEnded(pass_number=number),
    ]


def whole_job(setup: Setup | None = None) -> list[Fact]:
    """What follows the opening of a job in which all goes as it should: 4 passes, 21 plucks, one of them refused."""
    setup = setup or invented_setup()
    over = [invented_pluck(each) for each in OVER_TENSION_HZ]
    run_in: list[Fact] = [PassBegun(pass_number=2, pass_kind=PassKind.RUN_IN)]
    for number, fundamental_hz in enumerate(RUN_IN_HZ, 6):
        run_in.append(Turned(revolutions=2, direction=Direction.CLOCKWISE))
        run_in.append(PluckKept(pass_number=2, pluck_number=number, pluck=invented_pluck(fundamental_hz)))
    run_in.append(PassEnded(pass_number=2))
    final = [refused_pluck(), *(invented_pluck(each) for each in FINAL_HZ)]
    re_check = [invented_pluck(each) for each in RE_CHECK_HZ]
    return [
        CautionsAcknowledged(cautions=cautions_for(setup)),
        *a_pass(PassKind.OVER_TENSION, over),
        LineTicked(step=Step.TOOLS_OUT, text="crankshaft pin out"),
        StepDone(step=Step.TOOLS_OUT),
        *run_in,
        StepDone(step=Step.TOP_DEAD_CENTRE),
        *a_pass(PassKind.FINAL_SETTING, final, number=3, first_pluck=11),
        LineTicked(step=Step.FINAL_SETTING, text="tensioner bolt", value=25.0, unit="N m"),
        NoteAdded(text="Invented note: the marks are aligned."),
        JobClosed(),
        *a_pass(PassKind.RE_CHECK, re_check, number=4, first_pluck=17),
    ]
