"""Text for people, no wider than the terminal."""

import shutil
import textwrap
from collections.abc import Sequence

_WIDEST = 96
_NARROWEST = 24
_INDENT = " " * 6


def width() -> int:
    """Columns to fill: those of the terminal, or 96 where it is wider or there is none."""
    return max(min(shutil.get_terminal_size((_WIDEST, 24)).columns, _WIDEST), _NARROWEST)


def filled(text: str, first: str = "", later: str = "") -> str:
    """Break a text at spaces.

    Parameters
    ----------
    text : str
        One paragraph.
    first, later : str
        What the first line and the later ones begin with.
    """
    return textwrap.fill(
        text,
        width(),
        initial_indent=first,
        subsequent_indent=later,
        break_on_hyphens=False,
        break_long_words=False,
    )


def row(cells: Sequence[str]) -> str:
    """Put cells beside each other; those that find no room go on in the next line, indented.

    Parameters
    ----------
    cells : sequence of str
        Padded to the widths of their columns.
    """
    lines = [cells[0]]
    for cell in cells[1:]:
        longer = f"{lines[-1]}  {cell}"
        if len(longer.rstrip()) <= width():
            lines[-1] = longer
        else:
            lines.append(_INDENT + cell.strip())
    return "\n".join(filled(line, later=_INDENT) if len(line) > width() else line.rstrip() for line in lines)
