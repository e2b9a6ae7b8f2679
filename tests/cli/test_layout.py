import pytest

from tensionear.cli.layout import filled, row, width

CELLS = ["   1", "   1.49 s", "  110.00 ± 0.11 Hz", "undecided: near the lower limit"]


@pytest.mark.parametrize(("columns", "filled_columns"), [(10, 24), (24, 24), (80, 80), (96, 96), (200, 96)])
def test_lines_are_as_wide_as_the_terminal_but_stay_readable(
    columns: int, filled_columns: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    assert width() == filled_columns
    longest = max(len(line) for line in filled("belt " * 100).splitlines())
    assert filled_columns - 5 <= longest <= filled_columns


@pytest.mark.parametrize(
    ("columns", "lines"),
    [
        (80, ["   1     1.49 s    110.00 ± 0.11 Hz  undecided: near the lower limit"]),
        (50, ["   1     1.49 s    110.00 ± 0.11 Hz", "      undecided: near the lower limit"]),
        (38, ["   1     1.49 s    110.00 ± 0.11 Hz", "      undecided: near the lower limit"]),
        (30, ["   1     1.49 s", "      110.00 ± 0.11 Hz", "      undecided: near the", "      lower limit"]),
    ],
)
def test_cells_without_room_go_on_below(
    columns: int, lines: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    assert row(CELLS).splitlines() == lines


def test_neither_words_nor_hyphenated_options_are_broken(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "24")
    text = "add --linear-density-g-per-m, or leave --span-length-mm away"
    assert filled(text).split() == text.split()
