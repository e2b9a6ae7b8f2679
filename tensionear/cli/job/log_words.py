"""What an entry of a job's log says, to people."""

from tensionear.job.log import (
    CautionsAcknowledged,
    DetailCorrected,
    Fact,
    JobClosed,
    JobDeleted,
    JobOpened,
    JobRestored,
    LineTicked,
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
from tensionear.job.pluck_document import RefusalDocument

_UNITS_OF_DETAILS = {"odometer_km": "km", "ambient_c": "°C", "belt_c": "°C"}


def fact_words(fact: Fact) -> str:
    """Say a fact in a line."""
    match fact:
        case JobOpened():
            return "job opened" + (", a demonstration" if fact.is_demonstration else "")
        case SetupTaken():
            return _why(f"goes by the setup {fact.setup_name}, version {fact.setup_version}", fact.reason)
        case CautionsAcknowledged():
            return f"{len(fact.cautions)} cautions acknowledged"
        case PassBegun():
            return _why(f"pass {fact.pass_number}, {fact.pass_kind}, begun", fact.reason)
        case PassEnded():
            return f"pass {fact.pass_number} ended"
        case PluckKept():
            return f"pluck {fact.pluck_number} in pass {fact.pass_number}: {_outcome(fact)}"
        case StepDone():
            return f"{fact.step}: done"
        case StepSkipped():
            return _why(f"{fact.step}: skipped", fact.reason)
        case Turned():
            many = "revolution" if fact.revolutions == 1 else "revolutions"
            direction = f", {fact.direction}" if fact.direction else ""
            return f"turned over by hand, {fact.revolutions:g} {many}{direction}"
        case LineTicked():
            value = "" if fact.value is None else f": {fact.value:g} {fact.unit}"
            return f"ticked at {fact.step}: {fact.text}{value}"
        case NoteAdded():
            return f"note: {fact.text}"
        case PhotoAdded():
            return "photo" + (f": {fact.caption}" if fact.caption else "")
        case PluckStruckOut():
            return _why(f"pluck {fact.pluck_number} struck out", fact.reason)
        case PluckReinstated():
            return _why(f"pluck {fact.pluck_number} counts again", fact.reason)
        case DetailCorrected():
            before, after = detail_value(fact.name, fact.before), detail_value(fact.name, fact.after)
            return _why(f"{detail_words(fact.name)} is {after}, was {before}", fact.reason)
        case JobClosed():
            return "job closed"
        case JobDeleted():
            return _why("job deleted", fact.reason)
        case JobRestored():
            return _why("job restored", fact.reason)
        case RecordMade():
            return f"record {fact.record_number} made"


def detail_words(name: str) -> str:
    """Name a detail of a job."""
    return {
        "odometer_km": "odometer", "ambient_c": "ambient temperature", "belt_c": "belt temperature",
    }.get(name, name.replace("_", " "))  # fmt: skip


def detail_value(name: str, value: str | float | None) -> str:
    """Say what a detail of a job is."""
    if value is None or value == "":
        return "not given"
    return value if isinstance(value, str) else f"{value:.10g} {_UNITS_OF_DETAILS[name]}"


def _outcome(fact: PluckKept) -> str:
    outcome = fact.pluck.outcome
    if isinstance(outcome, RefusalDocument):
        return f"refused, {outcome.reason}"
    return f"{outcome.fundamental_hz:.2f} Hz"


def _why(what: str, reason: str) -> str:
    return f"{what}: {reason}" if reason else what
