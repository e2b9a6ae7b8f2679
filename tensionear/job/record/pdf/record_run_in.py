"""How the belt settled, as a record's PDF tells it to an expert."""

from collections.abc import Iterator

from tensionear.figures import value_and_uncertainty, with_uncertainty
from tensionear.job.passes import PassKind
from tensionear.job.record.found_document import FoundRunIn
from tensionear.job.record.pdf.pdf_content import RunInRow
from tensionear.job.record.pdf.record_told import ToldRecord
from tensionear.words import sentence

_OWN_NOTE = (
    "± of this table is without what is not known of span and belt: it is in all these tensions alike, and does not"
    " touch by how much they differ."
)


def run_in_unit(told: ToldRecord) -> str:
    """Unit of the run-in's table."""
    return told.unit if told.record.found.run_in is None else "N"


def run_in_rows(told: ToldRecord) -> tuple[RunInRow, ...]:
    """Where the tension stood after so many revolutions; where nothing is known of the span, each pluck."""
    run_in = told.record.found.run_in
    if run_in is None:
        return tuple(_pluck_rows(told))
    return tuple(
        RunInRow(
            _at(count.revolutions),
            *value_and_uncertainty(count.tension.value, count.tension.expanded_uncertainty),
        )
        for count in run_in.counts
    )


def run_in_sentences(told: ToldRecord) -> Iterator[str]:
    """Fall, whether it is level, what more would bring, and what came after."""
    run_in = told.record.found.run_in
    yield from _turning(told)
    if run_in is None:
        if any(each.kind is PassKind.RUN_IN for each in told.passes):
            yield "Whether the tension is level was not judged: that takes a span, and readings that count."
        return
    yield _OWN_NOTE
    yield from _fall(run_in)
    yield f"Is it level? {sentence(run_in.level_sentence)}"
    yield sentence(run_in.further_sentence)
    if run_in.setting_sentence:
        yield sentence(run_in.setting_sentence)
    for each in run_in.rechecks:
        name = told.pass_name(told.passes[each.pass_number - 1])
        which = f" ({name})" if len(run_in.rechecks) > 1 else ""
        yield sentence(f"{each.sentence}{which}")


def _turning(told: ToldRecord) -> Iterator[str]:
    """How far the engine was turned, whether or not the belt was read meanwhile."""
    revolutions, plan = told.state.revolutions, told.setup.run_in
    if revolutions or plan is not None:
        asked = (
            ""
            if plan is None
            else f"; {plan.revolutions} asked for, {plan.direction} seen from {plan.seen_from}"
        )
        yield f"Turned over by hand since the last over-tension: {revolutions:g} revolutions{asked}."


def _fall(run_in: FoundRunIn) -> Iterator[str]:
    if run_in.fall is None:
        return
    percent, newtons = run_in.fall.percent, run_in.fall.newtons
    first, last = (_at(run_in.counts[place].revolutions) for place in (0, -1))
    significant = "" if run_in.fall.is_significant else ", which is not significant"
    yield (
        f"Fall from {first} to {last}: {with_uncertainty(percent.value, percent.expanded_uncertainty, '%')},"
        f" {with_uncertainty(newtons.value, newtons.expanded_uncertainty, 'N')}{significant}."
    )


def _pluck_rows(told: ToldRecord) -> Iterator[RunInRow]:
    for each in told.passes:
        for pluck in each.plucks if each.kind is PassKind.RUN_IN else ():
            value = told.of_pluck(pluck) if pluck.counts else None
            if value is not None:
                name = f"{_at(pluck.revolutions)}, pluck {pluck.pluck_number}"
                yield RunInRow(name, *value_and_uncertainty(value.value, value.expanded_uncertainty))


def _at(revolutions: float) -> str:
    if revolutions == 0:
        return "over-tension"
    return f"{revolutions:g} revolution{'' if revolutions == 1 else 's'}"
