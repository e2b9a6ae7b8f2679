"""Tables in the record's PDF: a rule below the heading, numbers aligned at their decimal sign, nothing else.

Long ones run on to the next page under the same heading, and so do rows that are longer than a page.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.colors import black
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import LongTable, Paragraph, Table

from tensionear.job.record.pdf.pdf_content import Fact
from tensionear.job.record.pdf.pdf_type import (
    CELL,
    HAIRLINE_POINTS,
    HEAD_CELL,
    LABEL,
    NUMBER_CELL,
    NUMBER_HEAD_CELL,
    SUBHEADING,
    VALUE,
    StyleCommand,
    TypeSetter,
)
from tensionear.typeface import as_shown

_FIGURE_SPACE, _PUNCTUATION_SPACE = "\u2007", "\u2008"
"""As wide as a figure, and as a decimal point."""
_LONGEST_NUMBER = 14
_LEAST_NAME_POINTS, _MOST_NAME_SHARE = 58.0, 0.4
_LABEL_DROP_POINTS = 0.9
"""By how much a name is lowered to stand on the line of its larger value."""


@dataclass(frozen=True)
class Column:
    """A column.

    Attributes
    ----------
    heading : str
        With the unit in brackets.
    share : float
        Of the table's width, over the sum of all shares.
    is_number : bool
        Whether to align its cells at their decimal sign.
    """

    heading: str
    share: float
    is_number: bool = False


def aligned(numbers: Sequence[str]) -> list[str]:
    """Numbers with spaces behind them, so that set flush right their decimal points stand below each other.

    Parameters
    ----------
    numbers : sequence of str
        Anything that is no number stays as it is.
    """
    decimals = [len(number.rpartition(".")[2]) if "." in number else 0 for number in numbers]
    most = max((n for n, number in zip(decimals, numbers, strict=True) if _is_number(number)), default=0)
    return [
        _with_minus(number) + _FIGURE_SPACE * (most - n) + (_PUNCTUATION_SPACE if most and not n else "")
        if _is_number(number)
        else number
        for number, n in zip(numbers, decimals, strict=True)
    ]


def table(
    setter: TypeSetter,
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    width_points: float,
    name: str = "",
) -> Table:
    """A table with its name, if it has one, and its heading repeated on every page.

    Parameters
    ----------
    setter : TypeSetter
        Sets the texts.
    columns : sequence of Column
        Its columns.
    rows : sequence of sequence of str
        Its rows, each with a text for every column.
    width_points : float
        Its width. [points]
    name : str, optional
        What stands above the heading, in one line.
    """
    head: list[Paragraph | str] = [
        setter.paragraph(column.heading, NUMBER_HEAD_CELL if column.is_number else HEAD_CELL)
        for column in columns
    ]
    line = setter.in_a_line(name, SUBHEADING.fontName, SUBHEADING.fontSize, width_points)
    named = [[setter.paragraph(line, SUBHEADING), *[""] * (len(columns) - 1)]] if name else []
    set_columns = [
        _column_cells(setter, column, [row[at] for row in rows]) for at, column in enumerate(columns)
    ]
    at_head = len(named)
    style: list[StyleCommand] = [*_PLAIN]
    style += [("SPAN", (0, at), (-1, at)) for at in range(at_head)]
    style += [("LINEBELOW", (0, at), (-1, at), HAIRLINE_POINTS, black) for at in (at_head, -1)]
    style += [
        ("ALIGN", (at, at_head + 1), (at, -1), "RIGHT")
        for at, column in enumerate(columns)
        if column.is_number
    ]
    whole = sum(column.share for column in columns)
    return LongTable(
        [*named, head, *map(list, zip(*set_columns, strict=True))],
        colWidths=[width_points * column.share / whole for column in columns],
        style=style,
        repeatRows=at_head + 1,
        splitInRow=1,
        hAlign="LEFT",
    )


def fact_table(
    setter: TypeSetter, facts: Sequence[Fact], width_points: float, value_style: ParagraphStyle = VALUE
) -> Table | None:
    """Names on the left, what is known on the right; None without facts."""
    if not facts:
        return None
    longest = max(stringWidth(as_shown(fact.name), LABEL.fontName, LABEL.fontSize) for fact in facts)
    name_points = min(max(longest + 10.0, _LEAST_NAME_POINTS), _MOST_NAME_SHARE * width_points)
    return Table(
        [
            [setter.paragraph(fact.name, LABEL), setter.paragraph(fact.value or "–", value_style)]
            for fact in facts
        ],
        colWidths=[name_points, width_points - name_points],
        style=[
            *_PLAIN,
            ("TOPPADDING", (0, 0), (-1, -1), 0.6),
            ("TOPPADDING", (0, 0), (0, -1), 0.6 + _LABEL_DROP_POINTS),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 0.6),
        ],
        splitInRow=1,
        hAlign="LEFT",
    )


_PLAIN: tuple[StyleCommand, ...] = (
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 2.0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 4.0),
    ("LEFTPADDING", (0, 0), (0, -1), 0.0),
    ("RIGHTPADDING", (-1, 0), (-1, -1), 0.0),
    ("TOPPADDING", (0, 0), (-1, -1), 1.1),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 1.1),
    ("FONTNAME", (0, 0), (-1, -1), CELL.fontName),
    ("FONTSIZE", (0, 0), (-1, -1), CELL.fontSize),
    ("LEADING", (0, 0), (-1, -1), CELL.leading),
)


def _column_cells(setter: TypeSetter, column: Column, texts: Sequence[str]) -> list[Paragraph | str]:
    if not column.is_number:
        return [setter.paragraph(text, CELL) for text in texts]
    # A paragraph would drop the spaces behind a number, so that numbers stay bare text.
    return [
        setter.words(text) if _is_number(text) else setter.paragraph(text, NUMBER_CELL)
        for text in aligned(texts)
    ]


def _is_number(text: str) -> bool:
    return bool(text) and len(text) <= _LONGEST_NUMBER and any(letter.isdigit() for letter in text)


def _with_minus(number: str) -> str:
    """A number with a minus sign as wide as a plus, in place of a hyphen."""
    return "−" + number[1:] if number.startswith("-") else number
