"""What a job is now, as it follows from its log: the same log gives the same job, however often it was broken off."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TypeVar

from tensionear.job.details import JobDetails
from tensionear.job.log import (
    CautionsAcknowledged,
    DetailCorrected,
    JobClosed,
    JobDeleted,
    JobOpened,
    JobRestored,
    LineTicked,
    LogEntry,
    NoteAdded,
    PassBegun,
    PassEnded,
    PhotoAdded,
    PluckKept,
    PluckReinstated,
    PluckStruckOut,
    RecordMade,
    SetupTaken,
    StepDone,
    StepSkipped,
    Turned,
)
from tensionear.job.passes import STEP_OF, PassKind, Step
from tensionear.job.pluck_document import PluckDocument

_Kept = TypeVar("_Kept")


@dataclass(frozen=True)
class JobPluck:
    """A pluck of a job.

    Attributes
    ----------
    number : int
        In the job, from 1.
    at : datetime
        When it was kept.
    pluck : PluckDocument
        Its sound and what became of it.
    revolutions : float
        Made by hand since the last over-tension began, when it was plucked. [1]
    struck_out : str
        Why it does not count; empty if it counts.
    """

    number: int
    at: datetime
    pluck: PluckDocument
    revolutions: float
    struck_out: str = ""

    @property
    def counts(self) -> bool:
        """Whether it was read and not struck out."""
        return not self.struck_out and self.pluck.fundamental is not None


@dataclass(frozen=True)
class JobPass:
    """A pass of a job.

    Attributes
    ----------
    number : int
        In the job, from 1.
    kind : PassKind
        What it is for.
    begun_at : datetime
    ended_at : datetime or None
        None: it goes on.
    reason : str
        Why it was done again or out of turn; empty if it was neither.
    plucks : tuple of JobPluck
        The refused and the struck out too.
    """

    number: int
    kind: PassKind
    begun_at: datetime
    ended_at: datetime | None
    reason: str
    plucks: tuple[JobPluck, ...] = ()

    @property
    def counting(self) -> tuple[JobPluck, ...]:
        """Plucks that count."""
        return tuple(each for each in self.plucks if each.counts)


@dataclass(frozen=True)
class JobState:
    """A job as it is now.

    Attributes
    ----------
    details : JobDetails
        With all corrections.
    is_demonstration : bool
        Whether it is one for ever.
    opened_at : datetime
    setup : SetupTaken
        What the job goes by; the last that was taken.
    acknowledged : tuple of str
        Cautions.
    passes : tuple of JobPass
        In the order in which they were begun.
    done : dict of Step to datetime
        Steps without readings that were done since the last over-tension pass began; top dead centre is left when
        the engine is turned on.
    skipped : dict of Step to str
        Steps that were left out since then, and not done later, and why.
    revolutions : float
        Made by hand since then. [1]
    ticked : tuple of LineTicked
    notes : tuple of str
    photos : tuple of PhotoAdded
    corrections : tuple of DetailCorrected
    records : tuple of RecordMade
    closed_at, deleted_at : datetime or None
    n_entries : int
        In the log.
    """

    details: JobDetails
    is_demonstration: bool
    opened_at: datetime
    setup: SetupTaken
    acknowledged: tuple[str, ...] = ()
    passes: tuple[JobPass, ...] = ()
    done: dict[Step, datetime] = field(default_factory=dict)
    skipped: dict[Step, str] = field(default_factory=dict)
    revolutions: float = 0.0
    ticked: tuple[LineTicked, ...] = ()
    notes: tuple[str, ...] = ()
    photos: tuple[PhotoAdded, ...] = ()
    corrections: tuple[DetailCorrected, ...] = ()
    records: tuple[RecordMade, ...] = ()
    closed_at: datetime | None = None
    deleted_at: datetime | None = None
    n_entries: int = 0

    @property
    def open_pass(self) -> JobPass | None:
        """The pass that goes on; None if none does."""
        last = self.passes[-1] if self.passes else None
        return last if last is not None and last.ended_at is None else None

    @property
    def plucks(self) -> tuple[JobPluck, ...]:
        """All plucks, in their order."""
        return tuple(pluck for each in self.passes for pluck in each.plucks)

    def last_pass(self, kind: PassKind) -> JobPass | None:
        """The last pass of a kind; None if there is none."""
        return next((each for each in reversed(self.passes) if each.kind is kind), None)


def state_of(log: Iterable[LogEntry]) -> JobState:
    """Find out what a job is now.

    Parameters
    ----------
    log : iterable of LogEntry
        Whole, in order.

    Raises
    ------
    ValueError
        If it has gaps, does not begin with an opened job and its setup, names a pass or a pluck that is not there,
        ends a pass that does not go on, or corrects what was not so: no program wrote it so.
    """
    entries = iter(log)
    first, second = next(entries, None), next(entries, None)
    if first is None or second is None or (first.number, second.number) != (1, 2):
        raise ValueError("the log does not begin with its first two entries")
    opened, taken = first.fact, second.fact
    if not isinstance(opened, JobOpened) or not isinstance(taken, SetupTaken):
        raise ValueError("the log does not begin with an opened job and its setup")
    state = JobState(opened.details, opened.is_demonstration, first.at, taken, n_entries=2)
    for entry in entries:
        if entry.number != state.n_entries + 1:
            raise ValueError(f"entry {state.n_entries + 1} of the log is missing")
        state = replace(_after(state, entry), n_entries=entry.number)
    return state


def _after(state: JobState, entry: LogEntry) -> JobState:
    """The job after one more entry."""
    fact, at = entry.fact, entry.at
    match fact:
        case JobOpened():
            raise ValueError(f"entry {entry.number} of the log opens the job again")
        case SetupTaken():
            return replace(state, setup=fact)
        case CautionsAcknowledged():
            return replace(state, acknowledged=fact.cautions)
        case PassBegun():
            return _with_pass(state, fact, at)
        case PluckKept():
            return _with_pluck(state, fact, at)
        case PassEnded():
            return _with_pass_ended(state, fact, at)
        case StepDone():
            return replace(
                state, done={**state.done, fact.step: at}, skipped=_without(state.skipped, fact.step)
            )
        case StepSkipped():
            return replace(state, skipped={**state.skipped, fact.step: fact.reason})
        case Turned():
            return replace(
                state,
                revolutions=state.revolutions + fact.revolutions,
                done=_without(state.done, Step.TOP_DEAD_CENTRE),  # it was turned away from there
            )
        case LineTicked():
            return replace(state, ticked=(*state.ticked, fact))
        case NoteAdded():
            return replace(state, notes=(*state.notes, fact.text))
        case PhotoAdded():
            return replace(state, photos=(*state.photos, fact))
        case PluckStruckOut():
            return _struck(state, fact.pluck_number, fact.reason)
        case PluckReinstated():
            return _struck(state, fact.pluck_number, "")
        case DetailCorrected():
            return _with_correction(state, fact)
        case JobClosed():
            return replace(state, closed_at=at)
        case JobDeleted():
            return replace(state, deleted_at=at)
        case JobRestored():
            return replace(state, deleted_at=None)
        case RecordMade():
            return replace(state, records=(*state.records, fact))


def _with_pass(state: JobState, fact: PassBegun, at: datetime) -> JobState:
    if state.open_pass is not None or fact.pass_number != len(state.passes) + 1:
        raise ValueError(f"pass {fact.pass_number} cannot begin where the log says so")
    begun = JobPass(fact.pass_number, fact.pass_kind, at, None, fact.reason)
    skipped = (
        state.skipped
        if fact.pass_kind is PassKind.RUN_IN
        else _without(state.skipped, STEP_OF[fact.pass_kind])
    )
    state = replace(state, passes=(*state.passes, begun), skipped=skipped, closed_at=None)
    if fact.pass_kind is PassKind.OVER_TENSION:  # the belt is run in anew
        state = replace(state, done={}, skipped={}, revolutions=0.0)
    return state


def _with_pass_ended(state: JobState, fact: PassEnded, at: datetime) -> JobState:
    goes_on = state.open_pass
    if goes_on is None or goes_on.number != fact.pass_number:
        raise ValueError(f"pass {fact.pass_number} of the log ends and does not go on")
    return replace(state, passes=(*state.passes[:-1], replace(goes_on, ended_at=at)))


def _with_correction(state: JobState, fact: DetailCorrected) -> JobState:
    given = state.details.model_dump()
    if fact.name not in given or given[fact.name] != fact.before:
        raise ValueError(f"the detail {fact.name!r} was not {fact.before!r} where the log says so")
    details = JobDetails.model_validate({**given, fact.name: fact.after})
    return replace(state, details=details, corrections=(*state.corrections, fact))


def _without(steps: dict[Step, _Kept], step: Step) -> dict[Step, _Kept]:
    return {each: said for each, said in steps.items() if each is not step}


def _with_pluck(state: JobState, fact: PluckKept, at: datetime) -> JobState:
    goes_on = state.open_pass
    if goes_on is None or goes_on.number != fact.pass_number or fact.pluck_number != len(state.plucks) + 1:
        raise ValueError(f"pluck {fact.pluck_number} of the log belongs to no pass that goes on")
    pluck = JobPluck(fact.pluck_number, at, fact.pluck, state.revolutions)
    return replace(state, passes=(*state.passes[:-1], replace(goes_on, plucks=(*goes_on.plucks, pluck))))


def _struck(state: JobState, number: int, reason: str) -> JobState:
    if not 1 <= number <= len(state.plucks):
        raise ValueError(f"there is no pluck {number} in the log")

    def marked(each: JobPass) -> JobPass:
        plucks = tuple(
            replace(pluck, struck_out=reason) if pluck.number == number else pluck for pluck in each.plucks
        )
        return replace(each, plucks=plucks)

    return replace(state, passes=tuple(marked(each) for each in state.passes))
