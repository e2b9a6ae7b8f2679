"""The typeface of pictures and documents, and what it cannot show.

DejaVu Sans comes with matplotlib, so that every machine has the same one. It has Latin, Greek and Cyrillic letters
and many signs. What it lacks, what is written from right to left and what is invisible is given by its Unicode
number, so that nothing is lost, hidden or shown as an empty box.
"""

import functools
import itertools
import unicodedata
from enum import StrEnum
from pathlib import Path

import matplotlib
from matplotlib.ft2font import FT2Font

TYPEFACE = "DejaVu Sans"


class Face(StrEnum):
    """A face of the typeface; the value is its file's name."""

    REGULAR = "DejaVuSans.ttf"
    BOLD = "DejaVuSans-Bold.ttf"
    OBLIQUE = "DejaVuSans-Oblique.ttf"


def face_file(face: Face) -> Path:
    """Where the file of a face is."""
    return Path(matplotlib.get_data_path()) / "fonts" / "ttf" / face


def as_shown(text: str) -> str:
    """What is shown for a text: what cannot be shown is replaced by Unicode numbers, as in "[U+5F20 U+4F1F]".

    Parameters
    ----------
    text : str
        Any; its line breaks stay, a tab becomes a space.
    """
    normal = unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\t", " "))
    parts = [
        "".join(run) if is_shown else f"[{' '.join(f'U+{ord(character):04X}' for character in run)}]"
        for is_shown, run in itertools.groupby(normal, _is_shown)
    ]
    return "".join(parts)


def not_shown(text: str) -> frozenset[str]:
    """Characters of a text that are given by their numbers."""
    normal = unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\t", " "))
    return frozenset(character for character in normal if not _is_shown(character))


@functools.cache
def _characters() -> frozenset[int]:
    """Characters that every face has."""
    return frozenset.intersection(
        *(frozenset(FT2Font(str(face_file(face))).get_charmap()) for face in Face),
    )


def _is_shown(character: str) -> bool:
    if character == "\n":
        return True
    # Right-to-left scripts need their letters joined and put in order, which a simple setter of type does not do.
    is_plain = unicodedata.category(character)[0] != "C" and unicodedata.bidirectional(character) not in (
        "R",
        "AL",
    )
    return is_plain and ord(character) in _characters()
