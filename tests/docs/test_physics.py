"""The numbers of `docs/physics.md`, recomputed."""

import re
from pathlib import Path

import pytest

from tensionear.belt.air_and_amplitude import air_mass_per_length, relative_glide
from tensionear.belt.calibration import HEAVIEST_SPAN, LARGEST_MISFIT, STANDARD_GRAVITY_M_PER_S2
from tensionear.belt.stiff_span import LOWEST_STIFFNESS_RATIO, partial_frequency
from tensionear.belt.stiffness import UNKNOWN_END_FIXITY
from tensionear.belt.tension import static_tension

PAGE = " ".join((Path(__file__).parents[2] / "docs" / "physics.md").read_text(encoding="utf-8").split())
FIXITIES = (0.0, 0.25, 0.5, 0.75, 1.0)
ROWS = re.findall(r"\| (\d+) \|((?: [\d.]+ % \|){5})", PAGE)


def test_the_table_has_the_ratios_that_it_speaks_of() -> None:
    assert [int(ratio) for ratio, _ in ROWS] == [10, 20, 30, 50, 100, 200]


@pytest.mark.parametrize(("ratio", "cells"), ROWS)
def test_how_far_the_flexible_formula_is_too_high(ratio: str, cells: str) -> None:
    tension_n, length_m, density = 400.0, 0.2, 0.165
    bending = tension_n * (length_m / int(ratio)) ** 2
    too_high = [
        100
        * (
            static_tension(
                partial_frequency(tension_n, length_m, density, bending, fixity), length_m, density
            )
            / tension_n
            - 1
        )
        for fixity in FIXITIES
    ]
    assert re.findall(r"[\d.]+", cells) == [f"{value:.1f}" for value in too_high]


def test_the_numbers_in_the_text_are_those_of_the_code() -> None:
    assert f"ξ of {LOWEST_STIFFNESS_RATIO:g} or more" in PAGE
    assert f"equally likely, {UNKNOWN_END_FIXITY.standard_uncertainty:.2f};" in PAGE
    assert f"g is {STANDARD_GRAVITY_M_PER_S2} m/s²" in PAGE
    assert f"more than {100 * LARGEST_MISFIT:g} % from the best fit" in PAGE
    assert HEAVIEST_SPAN == 0.1
    assert f"{1000 * float(air_mass_per_length(0.025)):.1f} g/m at 25 mm" in PAGE
    assert f"it starts {100 * float(relative_glide(0.003, 400, 0.2, 1e5)):.0f} % high" in PAGE
