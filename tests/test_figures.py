"""Figures as people read them: as many as the uncertainty bears out, and never in powers of ten."""

import pytest

from tensionear.figures import half_width, significant, value_and_uncertainty, with_uncertainty


@pytest.mark.parametrize(
    ("value", "expanded", "written"),
    [
        (416.934, 6.347, ("416.9", "6.3")),
        (676.3, 12.07, ("676", "12")),
        (117.7312, 0.2512, ("117.73", "0.25")),
        (0.2130001, 0.0000012, ("0.213", "0.001")),
        (5.0, 0.0, ("5", "")),
    ],
)
def test_a_value_is_written_to_the_second_figure_of_its_uncertainty(
    value: float, expanded: float, written: tuple[str, str]
) -> None:
    assert value_and_uncertainty(value, expanded) == written
    together = f"{written[0]} ± {written[1]} N" if written[1] else f"{written[0]} N"
    assert with_uncertainty(value, expanded, "N") == together


@pytest.mark.parametrize(
    ("value", "n_figures", "written"),
    [
        (157.6166, 2, "160"),
        (0.00050, 2, "0.0005"),
        (7.1e-7, 2, "0.00000071"),
        (0.0, 2, "0"),
        (117.731, 6, "117.731"),
    ],
)
def test_significant_figures_never_come_as_powers_of_ten(value: float, n_figures: int, written: str) -> None:
    assert significant(value, n_figures) == written


def test_limits_are_told_as_the_half_width_of_a_rectangle() -> None:
    # JCGM 100:2008, 4.3.7: u = a/√3, so that u = 0.5 mm stands for ± 0.866 mm.
    assert half_width(0.213, 0.0005, 1e3, "mm") == "213 mm (within 0.866 mm)"
