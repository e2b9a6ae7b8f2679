"""The pages behind the first: all that an expert needs to judge the readings, section by section.

A section that has nothing to say says so, so that nobody wonders whether it was forgotten.
"""

from collections.abc import Sequence

from reportlab.platypus import CondPageBreak, Flowable, Spacer

from tensionear.job.record.pdf.pdf_content import (
    BudgetTable,
    CorrectionRow,
    ExpertContent,
    Fact,
    PassReadings,
    PdfContent,
    ReadingRow,
    ReasonRow,
)
from tensionear.job.record.pdf.pdf_photos import photo_rows
from tensionear.job.record.pdf.pdf_tables import Column, fact_table, table
from tensionear.job.record.pdf.pdf_type import BODY, HEADING, NOTHING, SUBHEADING, TypeSetter

_NOT_TORN_POINTS = 150.0
"""A section that is no higher stays on one page; of a higher one so much."""
_HEADING_POINTS = 24.0


def expert_pages(setter: TypeSetter, content: PdfContent, width_points: float) -> list[Flowable]:
    """What stands on the pages behind the first.

    Parameters
    ----------
    setter : TypeSetter
        Sets the texts.
    content : PdfContent
        What is to be said.
    width_points : float
        Room. [points]
    """
    expert, unit = content.expert, content.unit
    sections: list[tuple[str, list[Flowable]]] = [
        ("Readings", _readings(setter, expert.readings, width_points)),
        ("Plucks refused, marked or struck out", _reasons(setter, expert.left_out, "Pluck", width_points)),
        ("Run-in", _run_in(setter, expert, expert.run_in_unit or unit, width_points)),
        ("Uncertainty budget", _budgets(setter, expert.budgets, width_points)),
        ("Specification", _facts(setter, expert.specification, width_points)),
        ("Decision rule", _text(setter, expert.decision_rule)),
        ("Span and belt", _facts(setter, expert.span, width_points)),
        ("Instruments and software", _facts(setter, expert.instruments, width_points)),
        ("Checklist", _checklist(setter, expert, width_points)),
        ("Skipped steps", _reasons(setter, expert.skipped, "Step", width_points)),
        ("Corrections", _corrections(setter, expert.corrections, width_points)),
        ("Cautions", _cautions(setter, expert)),
        ("Notes", _text(setter, expert.notes)),
        ("Photos", photo_rows(setter, expert.photos, width_points)),
    ]
    story: list[Flowable] = []
    for number, (name, body) in enumerate(sections, start=1):
        said = body or [setter.paragraph("None.", NOTHING)]
        heading = setter.paragraph(f"{number}  {name}", HEADING)
        story += [_room_for(said, width_points), Spacer(1, 6.5), heading, Spacer(1, 1.5), *said]
    return story


def _room_for(body: Sequence[Flowable], width_points: float) -> Flowable:
    """What begins a new page if there is too little room for a section, or for enough of it."""
    high_points = sum(each.wrap(width_points, _NOT_TORN_POINTS)[1] for each in body)
    return CondPageBreak(_HEADING_POINTS + min(high_points, _NOT_TORN_POINTS))


def _readings(setter: TypeSetter, passes: Sequence[PassReadings], width_points: float) -> list[Flowable]:
    if not passes:
        return []
    columns = [
        Column("No.", 0.7, is_number=True),
        Column("Time", 1.4),
        Column("Revolution", 1.7, is_number=True),
        Column("Fundamental\n[Hz]", 1.9, is_number=True),
        Column("u\n[Hz]", 1.0, is_number=True),
        Column("Tension\n[N]", 1.3, is_number=True),
        Column("±\n[N]", 1.0, is_number=True),
        Column("Ring time\n[s]", 1.4, is_number=True),
        Column("SNR\n[dB]", 0.9, is_number=True),
        Column("Support", 1.3, is_number=True),
        Column("Result", 1.6),
    ]
    said = (
        "u: standard uncertainty of the fundamental. ±: expanded uncertainty of the tension, 95 % probability. SNR: "
        "signal-to-noise ratio. Support: share of the pluck's energy that the fundamental explains."
    )
    body: list[Flowable] = []
    for each in passes:
        rows = table(setter, columns, [_reading_cells(row) for row in each.rows], width_points, each.name)
        body += [_room_for([rows], width_points), rows, Spacer(1, 5)]
    return [*body, setter.paragraph(said, BODY)]


def _reading_cells(row: ReadingRow) -> list[str]:
    return [
        row.number,
        row.when,
        row.revolution,
        row.fundamental,
        row.fundamental_standard_uncertainty,
        row.tension,
        row.tension_expanded_uncertainty,
        row.ring_time,
        row.snr,
        row.support,
        row.result,
    ]


def _reasons(setter: TypeSetter, rows: Sequence[ReasonRow], what: str, width_points: float) -> list[Flowable]:
    if not rows:
        return []
    columns = [Column(what, 3.0), Column("Reason", 5.0), Column("When", 1.8), Column("By", 1.6)]
    cells = [[row.what, row.reason, row.when, row.by] for row in rows]
    return [table(setter, columns, cells, width_points)]


def _run_in(setter: TypeSetter, expert: ExpertContent, unit: str, width_points: float) -> list[Flowable]:
    body: list[Flowable] = []
    if expert.run_in:
        columns = [
            Column("At", 3.0),
            Column(f"Mean [{unit}]", 1.5, is_number=True),
            Column(f"± [{unit}]", 1.2, is_number=True),
            Column(f"Change [{unit}]", 1.5, is_number=True),
            Column(f"± [{unit}]", 1.2, is_number=True),
        ]
        n_columns = len(columns) if any(row.change for row in expert.run_in) else 3
        cells = [
            [row.at, row.mean, row.expanded_uncertainty, row.change, row.change_expanded_uncertainty]
            for row in expert.run_in
        ]
        share = 0.62 * sum(each.share for each in columns[:n_columns]) / sum(each.share for each in columns)
        shown = [row[:n_columns] for row in cells]
        body += [table(setter, columns[:n_columns], shown, share * width_points), Spacer(1, 3)]
    return body + [setter.paragraph(sentence, BODY) for sentence in expert.run_in_sentences]


def _budgets(setter: TypeSetter, budgets: Sequence[BudgetTable], width_points: float) -> list[Flowable]:
    body: list[Flowable] = []
    for budget in budgets:
        columns = [
            Column("Input", 2.1),
            Column("Value", 1.3, is_number=True),
            Column("Standard uncertainty", 1.4, is_number=True),
            Column("Unit", 0.8),
            Column("Type", 0.75),
            Column("Distribution", 1.5),
            Column(f"Contribution\n[{budget.unit}]", 1.6, is_number=True),
            Column("Share\n[%]", 0.9, is_number=True),
            Column("Origin", 3.2),
        ]
        cells = [
            [
                row.name,
                row.value,
                row.standard_uncertainty,
                row.unit,
                row.evaluation,
                row.distribution,
                row.contribution,
                row.share,
                row.origin,
            ]
            for row in budget.rows
        ]
        said: list[Flowable] = [
            setter.paragraph(f"Of the {budget.name}", SUBHEADING),
            table(setter, columns, cells, width_points),
            Spacer(1, 2),
            setter.paragraph(budget.result, BODY),
        ]
        body += [_room_for(said, width_points), Spacer(1, 3), *said]
    return body


def _checklist(setter: TypeSetter, expert: ExpertContent, width_points: float) -> list[Flowable]:
    if not expert.checklist:
        return []
    columns = [
        Column("Line", 4.2),
        Column("Value", 1.8),
        Column("State", 1.5),
        Column("When", 1.8),
        Column("By", 1.6),
    ]
    cells = [[row.line, row.value, row.state, row.when, row.by] for row in expert.checklist]
    return [table(setter, columns, cells, width_points)]


def _corrections(
    setter: TypeSetter, corrections: Sequence[CorrectionRow], width_points: float
) -> list[Flowable]:
    if not corrections:
        return []
    columns = [
        Column("What", 1.8),
        Column("Before", 2.2),
        Column("After", 2.2),
        Column("Reason", 3.0),
        Column("When", 1.8),
        Column("By", 1.5),
    ]
    cells = [[row.what, row.before, row.after, row.reason, row.when, row.by] for row in corrections]
    return [table(setter, columns, cells, width_points)]


def _cautions(setter: TypeSetter, expert: ExpertContent) -> list[Flowable]:
    shown = " ".join(expert.cautions)
    return [*_text(setter, expert.cautions_acknowledged), *_text(setter, shown)]


def _facts(setter: TypeSetter, facts: Sequence[Fact], width_points: float) -> list[Flowable]:
    set_facts = fact_table(setter, facts, width_points)
    return [] if set_facts is None else [set_facts]


def _text(setter: TypeSetter, text: str) -> list[Flowable]:
    return [setter.paragraph(text, BODY)] if text.strip() else []
