"""What the typeface shows, and that nothing that it does not show is lost."""

import pytest
from matplotlib.ft2font import FT2Font

from tensionear.typeface import Face, as_shown, face_file, not_shown


@pytest.mark.parametrize(
    "text", ["Łukasz Żółć", "Ελένη Παπαδάκη", "Щербаков Ёж", "402 ± 5 N·m²", "two\nlines"]
)
def test_polish_greek_cyrillic_and_figures_are_shown_as_they_are(text: str) -> None:
    assert as_shown(text) == text
    assert not_shown(text) == frozenset()


@pytest.mark.parametrize("face", Face)
def test_what_is_shown_as_it_is_has_a_glyph_in_every_face(face: Face) -> None:
    font = FT2Font(str(face_file(face)))
    assert all(font.get_char_index(ord(letter)) for letter in "ŁżąΕλέвЩё±·√²✓✗…")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("张伟 Example", "[U+5F20 U+4F1F] Example"),
        ("\u05d0\u05d1", "[U+05D0 U+05D1]"),  # Hebrew alef, bet: written from right to left
        ("in\u202eband", "in[U+202E]band"),  # would turn round what follows
        ("a\x00b", "a[U+0000]b"),
    ],
)
def test_what_cannot_be_shown_is_given_by_its_number(text: str, shown: str) -> None:
    assert as_shown(text) == shown
    assert not_shown(text)


def test_letters_typed_in_parts_are_put_together() -> None:
    assert as_shown("Z\u0307") == "Ż"
