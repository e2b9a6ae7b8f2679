"""Type in the record's PDF: faces, sizes, paragraphs, and texts that fit into a line.

Lengths are in points, reportlab's own unit; names say so.
"""

import bisect
import functools
from typing import Any, Literal
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color, HexColor, black
from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase.pdfmetrics import registerFont, registerFontFamily, stringWidth
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import Paragraph

from tensionear.typeface import Face, as_shown, face_file, not_shown

REGULAR, BOLD, OBLIQUE = "tensionear-regular", "tensionear-bold", "tensionear-oblique"
QUIET: Color = HexColor("#555555")
HAIRLINE_POINTS, RULE_POINTS = 0.4, 0.9
StyleCommand = tuple[str, tuple[int, int], tuple[int, int], *tuple[Any, ...]]
"""How reportlab is told the looks of a table's cells: what, from which cell to which, and by what."""

_FACES = {REGULAR: Face.REGULAR, BOLD: Face.BOLD, OBLIQUE: Face.OBLIQUE}


def _style(
    name: str,
    size: float,
    leading: float,
    face: str = REGULAR,
    colour: Color = black,
    alignment: Literal[0, 2] = TA_LEFT,
) -> ParagraphStyle:
    return ParagraphStyle(
        name, fontName=face, fontSize=size, leading=leading, textColor=colour, alignment=alignment
    )


TITLE = _style("title", 15.0, 19.0, BOLD)
WORKSHOP = _style("workshop", 7.5, 10.0, colour=QUIET, alignment=TA_RIGHT)
LABEL = _style("label", 6.8, 9.0, colour=QUIET)
VALUE = _style("value", 8.0, 10.2)
# Set on one foot: leading less ascent, 0.76 of the size, is the same for verdict and figure.
VERDICT = _style("verdict", 17.0, 21.0, BOLD)
FIGURE = _style("figure", 12.5, 17.6)
STATEMENT = _style("statement", 9.0, 12.5)
BODY = _style("body", 7.6, 10.4)
NOTHING = _style("nothing", 7.6, 10.4, OBLIQUE)
HEADING = _style("heading", 9.0, 11.5, BOLD)
SUBHEADING = _style("subheading", 7.6, 10.0, BOLD)
CELL = _style("cell", 7.0, 8.6)
NUMBER_CELL = _style("number", 7.0, 8.6, alignment=TA_RIGHT)
HEAD_CELL = _style("head", 6.5, 8.2, BOLD)
NUMBER_HEAD_CELL = _style("number head", 6.5, 8.2, BOLD, alignment=TA_RIGHT)
CAPTION = _style("caption", 6.8, 8.8, colour=QUIET)
FOOTER_SIZE, DEMONSTRATION_SIZE = 6.8, 8.5


@functools.cache
def register_faces() -> None:
    """Make the faces known to reportlab; only the letters that are used go into a PDF."""
    for name, face in _FACES.items():
        registerFont(TTFont(name, str(face_file(face))))
    registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=OBLIQUE, boldItalic=BOLD)


class TypeSetter:
    """Sets texts, and notes whether any has characters that the typeface lacks.

    Attributes
    ----------
    lacks_characters : bool
        Whether some have been given by their numbers.
    """

    def __init__(self) -> None:
        register_faces()
        self.lacks_characters = False

    def words(self, text: str) -> str:
        """A text as it can be shown."""
        self.lacks_characters = self.lacks_characters or bool(not_shown(text))
        return as_shown(text)

    def paragraph(self, text: str, style: ParagraphStyle) -> Paragraph:
        """A text as it stands, with its line breaks."""
        return Paragraph(escape(self.words(text)).replace("\n", "<br/>"), style)

    def in_a_line(self, text: str, face: str, size: float, room_points: float) -> str:
        """A text in one line, cut with … where it is too long."""
        line = " ".join(self.words(text).split())
        if stringWidth(line, face, size) <= room_points:
            return line
        n_letters = bisect.bisect_right(
            range(len(line)), room_points, key=lambda n: stringWidth(line[:n] + "…", face, size)
        )
        return line[: max(n_letters - 1, 0)] + "…"
