"""Tables of the record's PDF: how numbers are aligned."""

from tensionear.job.record.pdf.pdf_tables import aligned

FIGURE, POINT = "\u2007", "\u2008"


def test_decimal_points_stand_below_each_other() -> None:
    assert aligned(["402.25", "8.1", "165", ""]) == ["402.25", "8.1" + FIGURE, "165" + 2 * FIGURE + POINT, ""]


def test_whole_numbers_stay_as_they_are_but_for_their_minus() -> None:
    assert aligned(["12", "-3", "–"]) == ["12", "−3", "–"]


def test_words_among_numbers_are_left_alone() -> None:
    assert aligned(["1.5", "not known"]) == ["1.5", "not known"]
