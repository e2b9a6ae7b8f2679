"""What stands behind a record's verdict, as its PDF tells it to an expert."""

from collections.abc import Callable, Iterator, Sequence
from itertools import groupby

from tensionear.belt.comparison import ComparedQuantity, shown
from tensionear.figures import half_width, significant, with_uncertainty
from tensionear.job.course import cautions_for
from tensionear.job.record.found_document import FoundBudgetLine, FoundCompared, FoundPass, FoundValue
from tensionear.job.record.pdf.pdf_content import BudgetRow, BudgetTable, ExpertContent, Fact
from tensionear.job.record.pdf.record_log_sections import (
    cautions_acknowledged,
    checklist,
    corrections,
    left_out,
    notes,
    photos,
    skipped,
)
from tensionear.job.record.pdf.record_passes import limits_words, pass_readings
from tensionear.job.record.pdf.record_run_in import run_in_rows, run_in_sentences, run_in_unit
from tensionear.job.record.pdf.record_told import ToldRecord
from tensionear.job.setup import Setup
from tensionear.job.specification_document import BaselineDocument, PushDocument, SpecificationDocument
from tensionear.known_span import KnownSpan
from tensionear.metrology.decision import DecisionRule, Rule
from tensionear.tension_budget import AIR
from tensionear.words import capital, probability_words, rule_words, sentence, stiffness_words

_RULES = {
    Rule.GUARDED: (
        "In band: the value and its whole ± lie within the limits. Out of band: value and ± lie beyond one of them."
        " Otherwise undecided."
    ),
    Rule.SIMPLE: "The value alone decides and its ± does not: near a limit the verdict may be wrong.",
    Rule.STATED_PROBABILITY: (
        "In band, or out of band, if that is at least as probable as asked for. Otherwise undecided."
    ),
}
_SHORT_HASH_DIGITS = 12


def expert_content(told: ToldRecord, content_of: Callable[[str], bytes]) -> ExpertContent:
    """What stands on the pages behind the first.

    Parameters
    ----------
    told : ToldRecord
        The record.
    content_of : callable
        Gives the bytes of a SHA-256; for the photos.
    """
    return ExpertContent(
        readings=pass_readings(told),
        left_out=left_out(told),
        run_in=run_in_rows(told),
        run_in_unit=run_in_unit(told),
        run_in_sentences=tuple(run_in_sentences(told)),
        budgets=tuple(_budgets(told)),
        specification=tuple(_specification(told)),
        span=tuple(_span(told.setup)),
        instruments=tuple(_instruments(told)),
        decision_rule=_decision_rule(told),
        cautions=cautions_for(told.setup),
        cautions_acknowledged=cautions_acknowledged(told),
        checklist=checklist(told),
        skipped=skipped(told),
        corrections=corrections(told),
        notes=notes(told),
        photos=photos(told, content_of),
    )


def _budgets(told: ToldRecord) -> Iterator[BudgetTable]:
    """Of the pass that decides, or else the last one with a mean; record.json has those of all."""
    with_mean = [each for each in told.passes if each.fundamental is not None]
    each = told.deciding if told.deciding in with_mean else with_mean[-1] if with_mean else None
    if each is None:
        return
    at = f"at the {told.pass_name(each)}"
    compared = each.compared
    if each.tension is not None:
        yield _budget(f"static tension {at}", "N", each.budget, each.tension, _as_if_flexible(each))
    if compared is None or compared.result is None or compared.quantity is ComparedQuantity.CORRECTED_TENSION:
        return
    yield _budget(
        f"{compared.quantity} {at}, which is compared", str(compared.unit), compared.budget, compared.result
    )


def _as_if_flexible(each: FoundPass) -> str:
    if each.flexible_tension is None:
        return ""
    flexible = each.flexible_tension
    figure = with_uncertainty(flexible.value, flexible.expanded_uncertainty, "N")
    return f" Span model: {each.span_model}. By 4·m·L²·f², without stiffness: {figure}."


def _budget(
    name: str, unit: str, lines: Sequence[FoundBudgetLine], result: FoundValue, more: str = ""
) -> BudgetTable:
    dominant = max(lines, key=lambda line: line.share)
    limited = (
        f" The {dominant.name} contributes most: {100 * dominant.share:.0f} % of the variance."
        if result.standard_uncertainty > 0
        else ""
    )
    return BudgetTable(
        name=name,
        unit=unit,
        rows=tuple(_budget_row(line) for line in lines),
        result=(
            f"{with_uncertainty(result.value, result.expanded_uncertainty, unit)}:"
            f" combined standard uncertainty {result.standard_uncertainty:.3g} {unit},"
            f" coverage factor {result.coverage_factor:.2f} (95 %).{limited}{more}"
        ),
    )


def _budget_row(line: FoundBudgetLine) -> BudgetRow:
    return BudgetRow(
        name=line.name,
        origin=line.origin,
        value=significant(line.value, 6),
        standard_uncertainty=significant(line.standard_uncertainty, 2),
        unit=line.unit or "1",
        evaluation=str(line.evaluation),
        distribution=str(line.distribution),
        contribution=significant(line.contribution, 2),
        share=f"{100 * line.share:.1f}",
    )


def _specification(told: ToldRecord) -> Iterator[Fact]:
    setup = told.setup
    if setup.specification is not None:
        yield from _specified(setup.specification, "Specification")
    if setup.over_tension is not None:
        yield from _specified(setup.over_tension, "Specification for over-tension")
    if setup.specification is None and setup.baseline is not None:
        yield from _baseline(setup.baseline)
    if setup.specification is None and setup.over_tension is None and setup.baseline is None:
        yield Fact("Specification", "None is stated: nothing was compared, and there is no verdict.")
    judged = [each for each in told.passes if each.compared is not None]
    for said, passes in groupby(judged, key=_sentence):
        yield Fact(f"Compared: {', '.join(told.pass_name(each) for each in passes)}", said)
    shares = {
        each.compared.limits_relative_standard_uncertainty: None
        for each in judged
        if each.compared is not None
    }
    for share in shares:
        if share > 0:
            yield Fact("Not known of the limits", f"standard uncertainty {100 * share:.2g} %, counted once")


def _sentence(each: FoundPass) -> str:
    return "" if each.compared is None else each.compared.sentence


def _specified(given: SpecificationDocument, name: str) -> Iterator[Fact]:
    yield Fact(name, given.source)
    yield Fact("Stated as", str(given.method))
    for stated in given.values:
        value = stated.stated
        words = _push_words(value) if isinstance(value, PushDocument) else shown(value.value())
        yield Fact(f"For {stated.state}", words)
    if given.reference is not None:
        length, density = given.reference.span_length_m, given.reference.linear_density_kg_per_m
        said = [
            "the span as measured" if length is None else f"span length {1e3 * length:g} mm",
            "the belt as measured" if density is None else f"linear density {1e3 * density:g} g/m",
        ]
        yield Fact("Stated for", ", ".join(said))


def _push_words(push: PushDocument) -> str:
    def range_of(lower: float, upper: float, unit: str) -> str:
        return f"{lower:g} {unit}" if lower == upper else f"{lower:g} to {upper:g} {unit}"

    force = range_of(push.lower_force_n, push.upper_force_n, "N")
    return f"{force} for {range_of(1e3 * push.lower_deflection_m, 1e3 * push.upper_deflection_m, 'mm')}"


def _baseline(given: BaselineDocument) -> Iterator[Fact]:
    yield Fact(
        "Specification", "None is stated. What follows is an earlier job of one's own, and no specification."
    )
    fundamental = half_width(given.fundamental_hz, given.fundamental_standard_uncertainty_hz, 1.0, "Hz")
    yield Fact(
        "Earlier job", f"{given.job}: {fundamental}, permitted {given.percent:g} % either way by own choice"
    )


def _span(setup: Setup) -> Iterator[Fact]:
    for name, said in (("Engine", setup.engine), ("Belt", setup.belt), ("Plucked span", setup.span_name)):
        if said:
            yield Fact(name, said)
    if setup.span is None:
        yield Fact("Span", "Nothing is known of length and density: only frequencies are told.")
    else:
        yield from _known(setup.span.known_span(), setup)
    if setup.notes:
        yield Fact("Notes of the setup", setup.notes)


def _known(known: KnownSpan, setup: Setup) -> Iterator[Fact]:
    span = known.span
    length = half_width(span.span_length_m, span.span_length_standard_uncertainty_m, 1e3, "mm")
    density = half_width(
        span.linear_density_kg_per_m, span.linear_density_standard_uncertainty_kg_per_m, 1e3, "g/m"
    )
    yield Fact("Span length", _with_how(length, setup.span_length_how))
    yield Fact("Linear density", _with_how(density, setup.linear_density_how))
    yield Fact("Stiffness", _with_how(stiffness_words(known), setup.stiffness_how))
    air = known.given(AIR)
    if air is not None:
        measured = air.measured
        carried = half_width(measured.value, measured.standard_uncertainty, 1e3, "g/m")
        yield Fact("Air carried along", carried)
    for each in known.correlations:
        yield Fact("Err together", f"{each.first} and {each.second}, coefficient {each.coefficient:.2g}")
    for warning in known.warnings:
        yield Fact("Mind", warning)


def _with_how(words: str, how: str) -> str:
    return f"{words}; {how}" if how else words


def _instruments(told: ToldRecord) -> Iterator[Fact]:
    record = told.record
    for (source, channel, rate_hz, is_recording), numbers in groupby(
        told.plucks, key=lambda n: _heard(told, n)
    ):
        name = "Recording" if is_recording else "Microphone"
        yield Fact(name, f"{source}, channel {channel}, {rate_hz} Hz: {_numbers(list(numbers))}")
    yield Fact("Software", f"tensionear {record.software_version}; the log was written by {_writers(told)}")
    versions = sorted({document.estimator_version for _, document in told.plucks.values()})
    said = ", ".join(str(each) for each in versions) or "none"
    yield Fact("Estimator", f"version {record.estimator_version}; the plucks were read by version {said}")
    for each in record.setups:
        reason = f"; {each.reason}" if each.reason else ""
        by = f" by {each.by}" if each.by else ""
        yield Fact(
            "Setup",
            f"{each.name}, version {each.version}, made {told.when(each.made_at)}{by}{reason}"
            f" (SHA-256 {each.sha256[:_SHORT_HASH_DIGITS]}…)",
        )
    chain = record.chain
    before = chain.previous_record_sha256
    yield Fact(
        "Record",
        f"number {chain.number} of archive {chain.archive_id},"
        f" {'the first' if before is None else f'after the one with SHA-256 {before[:_SHORT_HASH_DIGITS]}…'}",
    )
    yield Fact("Job", record.job_uid)


def _heard(told: ToldRecord, number: int) -> tuple[str, int, int, bool]:
    sound = told.plucks[number][1].sound
    return sound.source, sound.channel, sound.sample_rate_hz, sound.is_recording


def _numbers(numbers: Sequence[int]) -> str:
    if len(numbers) == 1:
        return f"pluck {numbers[0]}"
    return f"plucks {numbers[0]} to {numbers[-1]}"


def _writers(told: ToldRecord) -> str:
    return ", ".join(dict.fromkeys(f"version {entry.software_version}" for entry in told.record.log))


def _decision_rule(told: ToldRecord) -> str:
    rule = told.setup.decision_rule.decision_rule()
    said = [f"{capital(rule_words(rule))}. {_RULES[rule.rule]}"]
    for each in told.passes:
        compared = each.compared
        if compared is None or compared.result is None or compared.conformance_probability is None:
            continue
        said.append(_decided(told, each, compared, compared.result))
    return "\n".join(said)


def _decided(told: ToldRecord, each: FoundPass, compared: FoundCompared, result: FoundValue) -> str:
    figure = with_uncertainty(result.value, result.expanded_uncertainty, str(compared.unit))
    probability = probability_words(compared.conformance_probability or 0.0)
    rule = DecisionRule(compared.decision_rule, compared.asked_probability)
    way_out = "" if each.way_out is None else f" {sentence(each.way_out)}"
    return (
        f"{capital(told.pass_name(each))}: {figure} against {limits_words(compared, with_unit=True)},"
        f" {compared.verdict} by {rule_words(rule)}; in band with a probability of {probability}.{way_out}"
    )
