"""The passes of a record as its PDF tells them: the short table, the picture, and every pluck."""

from collections.abc import Iterator

from tensionear.belt.comparison import shown
from tensionear.figures import value_and_uncertainty, with_uncertainty
from tensionear.job.log import PassBegun, StepSkipped
from tensionear.job.passes import PassKind
from tensionear.job.pluck_document import ReadingDocument
from tensionear.job.record.found_document import FoundCompared, FoundPass, FoundPluck
from tensionear.job.record.pdf.pdf_content import PassReadings, PassRow, ReadingRow
from tensionear.job.record.pdf.record_told import ToldRecord
from tensionear.job.specification_document import SingleValueDocument
from tensionear.metrology.decision import Decision
from tensionear.pass_ladder_picture import LadderPass, LadderPluck, PassLadder
from tensionear.tension_axes import Band, Mean
from tensionear.words import verdict_words

DO_NOT_AGREE = "no mean: the plucks do not agree"
NO_PLUCK = "no pluck could be read"
NOT_COMPARED = "not compared"
NO_TOLERANCE = "no verdict: stated without tolerance"
_SKIPPED = "skipped"


def pass_rows(told: ToldRecord) -> tuple[PassRow, ...]:
    """The short table of passes; those that were skipped stand where they would have been."""
    return tuple(
        _row(told, each) if isinstance(each, FoundPass) else PassRow(each[0], each[1], verdict=_SKIPPED)
        for each in _in_order(told)
    )


def pass_ladder(told: ToldRecord) -> PassLadder:
    """The picture of the passes."""
    columns = tuple(
        _column(told, each)
        if isinstance(each, FoundPass)
        else LadderPass(each[0], when=each[1], is_skipped=True)
        for each in _in_order(told)
    )
    return PassLadder(columns, told.quantity_name, told.unit, told.band_name)


def pass_readings(told: ToldRecord) -> tuple[PassReadings, ...]:
    """Every pluck of every pass."""
    return tuple(
        PassReadings(
            f"{told.pass_name(each)}, {told.when(each.begun_at)}",
            tuple(_reading(told, each, pluck) for pluck in each.plucks),
        )
        for each in told.passes
        if each.plucks
    )


def result_words(each: FoundPass, pluck: FoundPluck) -> str:
    """What became of a pluck, in a word or two."""
    if not pluck.is_reading:
        return "refused"
    if pluck.struck_out:
        return "struck out"
    if any(marked.pluck_number == pluck.pluck_number for marked in each.marked):
        return "marked"
    return "in mean" if each.fundamental is not None else "read"


def outcome_words(each: FoundPass) -> str:
    """What a pass came to: the verdict, or why there is none; empty if nothing was asked."""
    compared = each.compared
    if each.kind is PassKind.RUN_IN:
        return ""
    if each.fundamental is None:
        return DO_NOT_AGREE if each.disagreement is not None else NO_PLUCK
    if compared is None:
        return NOT_COMPARED
    if compared.verdict is not None:
        return verdict_words(Decision(compared.verdict, compared.side))
    return NO_TOLERANCE if isinstance(compared.limits, SingleValueDocument) else "no verdict"


def limits_words(compared: FoundCompared, *, with_unit: bool) -> str:
    """The limits as they stand in a table; a value without tolerance says so."""
    limits = compared.limits
    if isinstance(limits, SingleValueDocument):
        return f"{limits.single_value:.4g}{f' {compared.unit}' if with_unit else ''}, no tolerance"
    words = shown(limits.value())
    return words if with_unit else words.removesuffix(f" {compared.unit}")


def _in_order(told: ToldRecord) -> Iterator[FoundPass | tuple[str, str]]:
    """The passes, and where one was skipped its name and when."""
    kinds = {str(kind) for kind in PassKind}
    for entry in told.record.log:
        fact = entry.fact
        if isinstance(fact, PassBegun):
            yield told.passes[fact.pass_number - 1]
        elif isinstance(fact, StepSkipped) and fact.step in kinds:
            yield str(fact.step), told.when(entry.at)


def _row(told: ToldRecord, each: FoundPass) -> PassRow:
    mean, compared = told.mean(each), each.compared
    value, expanded = (
        ("", "") if mean is None else value_and_uncertainty(mean.value, mean.expanded_uncertainty)
    )
    return PassRow(
        name=told.pass_name(each),
        when=told.when(each.begun_at),
        plucks=_count_words(each),
        mean=value,
        expanded_uncertainty=expanded,
        band="" if compared is None else limits_words(compared, with_unit=not told.is_compared_as_told(each)),
        verdict=", ".join(said for said in (outcome_words(each), "" if each.ended_at else "goes on") if said),
    )


def _count_words(each: FoundPass) -> str:
    n_all = len(each.plucks)
    if each.kind is PassKind.RUN_IN:
        return f"{n_all}, no mean"
    return str(n_all) if each.n_in_mean == n_all else f"{each.n_in_mean} of {n_all}"


def _column(told: ToldRecord, each: FoundPass) -> LadderPass:
    mean, compared = told.mean(each), each.compared
    return LadderPass(
        name=told.pass_name(each),
        plucks=tuple(
            LadderPluck(
                value.value,
                # Of a run-in there is no mean: all that count are alike.
                pluck.counts if each.kind is PassKind.RUN_IN else result_words(each, pluck) == "in mean",
                pluck.revolutions if each.kind is PassKind.RUN_IN else None,
            )
            for pluck in each.plucks
            if (value := told.of_pluck(pluck)) is not None
        ),
        n_refused=each.n_refused,
        mean=None
        if mean is None
        else Mean(
            mean.value,
            mean.expanded_uncertainty,
            with_uncertainty(mean.value, mean.expanded_uncertainty, told.unit),
        ),
        band=_band(compared) if compared is not None and told.is_compared_as_told(each) else None,
        verdict=None if compared is None else compared.verdict,
        words=outcome_words(each),
        when=told.when(each.begun_at),
    )


def _band(compared: FoundCompared) -> Band:
    limits = compared.limits
    if isinstance(limits, SingleValueDocument):
        return Band(limits.single_value, limits.single_value)
    return Band(limits.lower, limits.upper)


def _reading(told: ToldRecord, each: FoundPass, pluck: FoundPluck) -> ReadingRow:
    entry, document = told.plucks[pluck.pluck_number]
    outcome = document.outcome
    row = ReadingRow(
        number=str(pluck.pluck_number),
        when=told.time(entry.at),
        revolution=f"{pluck.revolutions:g}",
        snr="" if outcome.snr_db is None else f"{outcome.snr_db:.0f}",
        result=result_words(each, pluck),
    )
    if not isinstance(outcome, ReadingDocument):
        return row
    tension, expanded = (
        ("", "")
        if pluck.tension is None
        else value_and_uncertainty(pluck.tension.value, pluck.tension.expanded_uncertainty)
    )
    return ReadingRow(
        number=row.number,
        when=row.when,
        revolution=row.revolution,
        fundamental=f"{outcome.fundamental_hz:.3f}",
        fundamental_standard_uncertainty=f"{outcome.fundamental_standard_uncertainty_hz:.3f}",
        tension=tension,
        tension_expanded_uncertainty=expanded,
        ring_time=f"{outcome.ring_time_s:.3f}",
        snr=row.snr,
        support=f"{outcome.support:.2f}",
        result=row.result,
    )
