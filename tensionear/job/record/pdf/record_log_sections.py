"""What people did in a job, as its record's PDF tells it: left out, skipped, corrected, ticked, acknowledged."""

from collections.abc import Callable, Iterator

from tensionear.job.course import cautions_for
from tensionear.job.log import (
    CautionsAcknowledged,
    DetailCorrected,
    LineTicked,
    LogEntry,
    NoteAdded,
    PassBegun,
    PhotoAdded,
    PluckReinstated,
    PluckStruckOut,
    SetupTaken,
    StepSkipped,
)
from tensionear.job.passes import Step
from tensionear.job.pluck_document import RefusalDocument
from tensionear.job.record.found_document import FoundPass
from tensionear.job.record.pdf.pdf_content import ChecklistRow, CorrectionRow, Photo, ReasonRow
from tensionear.job.record.pdf.record_told import ToldRecord
from tensionear.job.setup import ChecklistLine

DETAILS = {
    "vehicle": "vehicle",
    "registration": "registration",
    "chassis_number": "chassis number",
    "odometer_km": "odometer",
    "technician": "technician",
    "workshop": "workshop",
    "ambient_c": "ambient temperature",
    "belt_c": "belt temperature",
}
"""What the details of a job are called."""

_UNITS = {"odometer_km": " km", "ambient_c": " °C", "belt_c": " °C"}
_SHORT_HASH_DIGITS = 12


def detail_words(name: str, value: str | float | None) -> str:
    """A detail as it is told; empty if it is not known."""
    if value is None:
        return ""
    return (
        f"{value}{_UNITS.get(name, '')}" if isinstance(value, str) else f"{value:.10g}{_UNITS.get(name, '')}"
    )


def left_out(told: ToldRecord) -> tuple[ReasonRow, ...]:
    """Plucks that are in no mean, with the reasons: refused, marked, struck out; those that were reinstated too."""
    rows: list[tuple[int, int, ReasonRow]] = []
    for each in told.passes:
        rows += [(number, 0, row) for number, row in _not_in_mean(told, each)]
    for entry in told.record.log:
        fact = entry.fact
        if isinstance(fact, PluckStruckOut | PluckReinstated):
            doing = "struck out" if isinstance(fact, PluckStruckOut) else "reinstated, counts again"
            what = f"{_pluck_name(told, fact.pluck_number)}: {doing}"
            rows.append((fact.pluck_number, entry.number, _reason(told, entry, what, fact.reason)))
    rows.sort(key=lambda row: row[:2])
    disagreeing = tuple(
        ReasonRow(f"{told.pass_name(each)}: no mean", "", "", str(each.disagreement))
        for each in told.passes
        if each.disagreement is not None
    )
    return (*(row for _, _, row in rows), *disagreeing)


def skipped(told: ToldRecord) -> tuple[ReasonRow, ...]:
    """Steps that were skipped, and passes that were made again or out of turn, with the reasons."""
    rows = []
    for entry in told.record.log:
        fact = entry.fact
        if isinstance(fact, StepSkipped):
            holds = told.state.skipped.get(fact.step) == fact.reason
            later = "" if holds else " (done later, or the belt was over-tensioned anew)"
            rows.append(_reason(told, entry, f"{fact.step}: skipped{later}", fact.reason))
        elif isinstance(fact, PassBegun) and fact.reason:
            name = told.pass_name(told.passes[fact.pass_number - 1])
            rows.append(_reason(told, entry, f"{name}: made again, or out of turn", fact.reason))
    return tuple(rows)


def corrections(told: ToldRecord) -> tuple[CorrectionRow, ...]:
    """What was corrected, the earliest first; what was said before stays in the record."""
    rows, setup = [], ""
    for entry in told.record.log:
        fact = entry.fact
        if isinstance(fact, DetailCorrected):
            was, is_now = (
                detail_words(fact.name, each) or "not stated" for each in (fact.before, fact.after)
            )
            what = DETAILS.get(fact.name, fact.name)
        elif isinstance(fact, SetupTaken):
            was, is_now, what = setup, f"{fact.setup_name}, version {fact.setup_version}", "setup"
            setup = is_now
            if not was:
                continue  # taken with the opening
        else:
            continue
        rows.append(CorrectionRow(what, was, is_now, told.when(entry.at), entry.by, fact.reason))
    return tuple(rows)


def checklist(told: ToldRecord) -> tuple[ChecklistRow, ...]:
    """Every line of the checklist, with all that was ticked; what stands in the setup no more is told too."""
    ticked = [(entry, entry.fact) for entry in told.record.log if isinstance(entry.fact, LineTicked)]
    rows: list[ChecklistRow] = []
    for line in told.setup.checklist:
        own = [(entry, fact) for entry, fact in ticked if (fact.step, fact.text) == (line.step, line.text)]
        ticked = [each for each in ticked if each not in own]
        name = f"{line.step}: {line.text}"
        rows += [_ticked(told, entry, fact, name, line) for entry, fact in own]
        if not own:
            rows.append(ChecklistRow(name, _value(line.value, line.unit), "NOT ticked"))
    for entry, fact in ticked:
        rows.append(_ticked(told, entry, fact, f"{fact.step}: {fact.text} (not in the setup)", None))
    return tuple(rows)


def cautions_acknowledged(told: ToldRecord) -> str:
    """By whom and when the cautions were acknowledged, or that they were not."""
    last = next(
        (each for each in reversed(told.record.log) if isinstance(each.fact, CautionsAcknowledged)), None
    )
    missing = [each for each in cautions_for(told.setup) if each not in told.state.acknowledged]
    why = told.state.skipped.get(Step.CAUTIONS)
    skipped_words = "" if why is None else f" The step was skipped: {why}"
    if last is None:
        return f"NOT acknowledged.{skipped_words}"
    said = f"Acknowledged by {last.by or 'a person who gave no name'} on {told.when(last.at)}."
    if not missing:
        return said
    return f"{said} NOT acknowledged among them: {' '.join(missing)}{skipped_words}"


def notes(told: ToldRecord) -> str:
    """The technician's notes, a line each."""
    return "\n".join(
        f"{told.when(entry.at)}{f', {entry.by}' if entry.by else ''}: {entry.fact.text}"
        for entry in told.record.log
        if isinstance(entry.fact, NoteAdded)
    )


def photos(told: ToldRecord, content_of: Callable[[str], bytes]) -> tuple[Photo, ...]:
    """The photos with their captions and hashes."""
    return tuple(
        Photo(content_of(fact.sha256), _photo_caption(told, fact))
        for fact in (entry.fact for entry in told.record.log)
        if isinstance(fact, PhotoAdded)
    )


def _photo_caption(told: ToldRecord, fact: PhotoAdded) -> str:
    name = told.record.photo_files.get(fact.sha256, "")
    return "\n".join(
        said for said in (fact.caption, f"{name}, SHA-256 {fact.sha256[:_SHORT_HASH_DIGITS]}…") if said
    )


def _not_in_mean(told: ToldRecord, each: FoundPass) -> Iterator[tuple[int, ReasonRow]]:
    marks = {marked.pluck_number: marked.mark for marked in each.marked}
    for pluck in each.plucks:
        number = pluck.pluck_number
        entry, document = told.plucks[number]
        if isinstance(document.outcome, RefusalDocument):
            reason = f"{document.outcome.reason}: {document.outcome.explanation}"
            yield number, _reason(told, entry, f"{_pluck_name(told, number)}: refused", reason, by="")
        elif number in marks:
            yield (
                number,
                _reason(told, entry, f"{_pluck_name(told, number)}: marked", str(marks[number]), by=""),
            )


def _pluck_name(told: ToldRecord, number: int) -> str:
    return f"{told.pass_name(told.pass_of_pluck(number))}, pluck {number}"


def _reason(told: ToldRecord, entry: LogEntry, what: str, reason: str, by: str | None = None) -> ReasonRow:
    return ReasonRow(what, told.when(entry.at), entry.by if by is None else by, reason)


def _ticked(
    told: ToldRecord, entry: LogEntry, fact: LineTicked, name: str, line: ChecklistLine | None
) -> ChecklistRow:
    stated = "" if line is None else _value(line.value, line.unit)
    used = _value(fact.value, fact.unit)
    value = used or stated
    if used and stated and used != stated:
        value = f"{used} (setup: {stated})"
    return ChecklistRow(name, value, "done", told.when(entry.at), entry.by)


def _value(value: float | None, unit: str) -> str:
    return "" if value is None else f"{value:g} {unit}".strip()
