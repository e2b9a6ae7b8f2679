"""The first page of a record's PDF, for the customer: who and what, the verdict, the passes, the signature."""

from collections.abc import Sequence
from io import BytesIO

from PIL import Image
from reportlab.lib.colors import black
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, HRFlowable, KeepTogether, Paragraph, Spacer, Table
from reportlab.platypus import Image as PlacedImage

from tensionear.job.record.pdf.pdf_content import Fact, PassRow, PdfContent, VerdictStatement
from tensionear.job.record.pdf.pdf_tables import Column, fact_table, table
from tensionear.job.record.pdf.pdf_type import (
    BODY,
    BOLD,
    CAPTION,
    FIGURE,
    HAIRLINE_POINTS,
    LABEL,
    RULE_POINTS,
    STATEMENT,
    TITLE,
    VERDICT,
    WORKSHOP,
    StyleCommand,
    TypeSetter,
)
from tensionear.pass_ladder_picture import PassLadder, pass_ladder_png

_LOWEST_ROW_POINTS, _HIGHEST_ROW_POINTS = 52 * mm, 115 * mm
"""Height of a row of the pass ladder."""
_GUTTER_POINTS = 6 * mm
_PICTURE_DPI = 300.0
_SIGNING_POINTS = 11 * mm
_HIGHEST_NAME_POINTS = 40.0
_HIGHEST_BLOCK_POINTS = 130.0
LACKING = (
    "Characters that this document's typeface lacks are given by their Unicode numbers in brackets, as [U+5F20]; "
    "record.json has them as they were typed."
)


def customer_page(
    setter: TypeSetter, content: PdfContent, width_points: float, height_points: float
) -> list[Flowable]:
    """What stands on the first page; very long texts let it run on.

    Parameters
    ----------
    setter : TypeSetter
        Sets the texts; it has set those of the other pages already, so that the footnote is true of all.
    content : PdfContent
        What is to be said.
    width_points, height_points : float
        Room. [points]
    """
    above = [
        *_heading(setter, content, width_points),
        *_verdict(setter, content.verdict, width_points),
        Spacer(1, 6),
    ]
    below = [*_passes(setter, content, width_points), *_run_in(setter, content)]
    foot = [*_signatures(setter, content, width_points), *_hash(setter, content)]
    rest_points = height_points - sum(_height(each, width_points) for each in [*above, *below, *foot]) - 1.0
    n_rows = len(content.ladder.rows)
    picture_points = min(max(rest_points, n_rows * _LOWEST_ROW_POINTS), n_rows * _HIGHEST_ROW_POINTS)
    filling = Spacer(1, max(0.0, rest_points - picture_points))
    return [
        *above,
        _ladder(content.ladder, width_points, picture_points),
        *below,
        filling,
        KeepTogether(foot),
    ]


def _heading(setter: TypeSetter, content: PdfContent, width_points: float) -> list[Flowable]:
    column_points = (width_points - _GUTTER_POINTS) / 2.0
    halves = _halves(setter, content.facts, column_points)
    facts = [
        setter_table
        for half in halves
        if (setter_table := fact_table(setter, half, column_points)) is not None
    ]
    beside = Table(
        [[facts[0] if facts else "", "", facts[1] if len(facts) > 1 else ""]],
        colWidths=[column_points, _GUTTER_POINTS, column_points],
        style=list(_BARE),
        splitInRow=1,
    )
    title_points = 0.62 * width_points
    title = Table(
        [[setter.paragraph(content.title, TITLE), setter.paragraph(content.workshop, WORKSHOP)]],
        colWidths=[title_points, width_points - title_points],
        style=[*_BARE, ("VALIGN", (0, 0), (-1, -1), "BOTTOM")],
    )
    words = [setter.paragraph(content.title, TITLE), setter.paragraph(content.workshop, WORKSHOP)]
    return [*_beside_if_short(title, words, width_points), _rule(RULE_POINTS, 3.0, 4.0), beside]


def _beside_if_short(table: Table, paragraphs: Sequence[Flowable], width_points: float) -> list[Flowable]:
    """The table, or if its texts are too long for that the same as paragraphs, which may run on to other pages."""
    return [table] if _height(table, width_points) <= _HIGHEST_BLOCK_POINTS else list(paragraphs)


def _halves(
    setter: TypeSetter, facts: Sequence[Fact], column_points: float
) -> tuple[Sequence[Fact], Sequence[Fact]]:
    """The facts in two columns that are about equally high, in their order."""
    heights = [
        _height(each, column_points) for fact in facts if (each := fact_table(setter, [fact], column_points))
    ]
    at = min(
        range(len(facts) + 1),
        key=lambda n: (max(sum(heights[:n]), sum(heights[n:])), -n),
    )
    return facts[:at], facts[at:]


def _verdict(setter: TypeSetter, verdict: VerdictStatement, width_points: float) -> list[Flowable]:
    named = [
        ("Verdict", verdict.word, VERDICT),
        (verdict.figure_name, verdict.figure, FIGURE),
        (verdict.band_name if verdict.band else "", verdict.band, FIGURE),
    ]
    statement = Table(
        [
            [setter.paragraph(name, LABEL) for name, _, _ in named],
            [setter.paragraph(words, style) for _, words, style in named],
        ],
        colWidths=[0.32 * width_points, 0.38 * width_points, 0.30 * width_points],
        style=[*_BARE, ("VALIGN", (0, 1), (-1, 1), "BOTTOM"), ("RIGHTPADDING", (0, 0), (-1, -1), 6.0)],
    )
    one_below_other = [
        setter.paragraph(text, each)
        for name, words, style in named
        for text, each in ((name, LABEL), (words, style))
    ]
    return [
        _rule(RULE_POINTS, 6.0, 4.0),
        *_beside_if_short(statement, one_below_other, width_points),
        Spacer(1, 3),
        setter.paragraph(verdict.sentence, STATEMENT),
        *(setter.paragraph(remark, BODY) for remark in verdict.remarks),
        _rule(RULE_POINTS, 5.0, 0.0),
    ]


def _ladder(ladder: PassLadder, width_points: float, height_points: float) -> Flowable:
    png = pass_ladder_png(ladder, width_points / mm, height_points / mm, _PICTURE_DPI)
    # Without its transparency, of which the picture makes no use, it needs no second picture as a mask.
    opaque = BytesIO()
    with Image.open(BytesIO(png)) as picture:
        picture.convert("RGB").save(opaque, "PNG", compress_level=1)
    opaque.seek(0)
    return PlacedImage(opaque, width=width_points, height=height_points)


def _passes(setter: TypeSetter, content: PdfContent, width_points: float) -> list[Flowable]:
    columns = [
        Column("Pass", 3.4),
        Column("When", 2.6),
        Column("Plucks in mean", 1.7),
        Column(f"Mean [{content.unit}]", 1.5, is_number=True),
        Column(f"± [{content.unit}]", 1.1, is_number=True),
        Column("", 0.3),
        Column(f"Band [{content.unit}]", 1.9),
        Column("Verdict", 2.4),
    ]
    if not content.passes:
        return [Spacer(1, 4), setter.paragraph("No pass was made.", BODY)]
    rows = [_pass_cells(each) for each in content.passes]
    return [Spacer(1, 4), table(setter, columns, rows, width_points)]


def _pass_cells(each: PassRow) -> list[str]:
    figures = [each.mean, each.expanded_uncertainty]
    return [each.name, each.when, each.plucks, *figures, "", each.band, each.verdict]


def _run_in(setter: TypeSetter, content: PdfContent) -> list[Flowable]:
    if not content.run_in_sentence:
        return []
    return [Spacer(1, 6), setter.paragraph(f"Run-in: {content.run_in_sentence}", BODY)]


def _signatures(setter: TypeSetter, content: PdfContent, width_points: float) -> list[Flowable]:
    if not content.signatories:
        return []
    gap_points = 5 * mm
    widths = [0.46 * width_points, gap_points, 0.2 * width_points, gap_points]
    widths.append(width_points - sum(widths))
    style: list[StyleCommand] = [*_BARE, ("TOPPADDING", (0, 0), (-1, -1), 2.0)]
    cells: list[list[Paragraph | str]] = []
    heights: list[float | None] = []
    long_names: list[Flowable] = []
    for signatory in content.signatories:
        who = signatory
        if _height(setter.paragraph(who, LABEL), widths[0]) > _HIGHEST_NAME_POINTS:
            long_names.append(setter.paragraph(who, LABEL))
            who = "Signatory, as above"
        labels = [setter.paragraph(label, LABEL) for label in (who, "Date", "Signature")]
        cells += [[""] * len(widths), [labels[0], "", labels[1], "", labels[2]]]
        heights += [_SIGNING_POINTS, None]
        at_labels = len(cells) - 1
        style += [("LINEABOVE", (at, at_labels), (at, at_labels), HAIRLINE_POINTS, black) for at in (0, 2, 4)]
    return [*long_names, Table(cells, colWidths=widths, rowHeights=heights, style=style), Spacer(1, 5)]


def _hash(setter: TypeSetter, content: PdfContent) -> list[Flowable]:
    said = [f"SHA-256 of the record: {content.record_sha256}", content.standing_sentences]
    if setter.lacks_characters:
        said.append(LACKING)
    return [setter.paragraph(each, CAPTION) for each in said if each]


def _rule(thickness_points: float, before_points: float, after_points: float) -> Flowable:
    return HRFlowable(
        width="100%",
        thickness=thickness_points,
        color=black,
        spaceBefore=before_points,
        spaceAfter=after_points,
        lineCap="butt",
    )


def _height(flowable: Flowable, width_points: float) -> float:
    """Height with the space before and after. [points]."""
    return float(flowable.wrap(width_points, 1e6)[1] + flowable.getSpaceBefore() + flowable.getSpaceAfter())


_BARE: tuple[StyleCommand, ...] = (
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0.0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 0.0),
    ("TOPPADDING", (0, 0), (-1, -1), 0.0),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 0.0),
    ("FONTNAME", (0, 0), (-1, -1), BOLD),
)
