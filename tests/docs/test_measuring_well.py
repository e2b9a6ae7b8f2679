"""What `docs/measuring-well.md` promises, held against the code and recomputed."""

import importlib
import math
import re
from pathlib import Path

import numpy as np
import pytest
from scipy.linalg import eigh
from scipy.optimize import brentq

from tensionear.belt.span import BeltSpan
from tensionear.belt.tension import fundamental_frequency, static_tension
from tensionear.cautions import cautions_text
from tensionear.known_span import KnownSpan
from tensionear.metrology.marks import LARGEST_AGREEING_DIFFERENCE
from tensionear.metrology.uncertainty import Measured, coverage_factor
from tensionear.pluck.outcome import RefusalReason
from tensionear.task import BeltTask

PAGE = (Path(__file__).parents[2] / "docs" / "measuring-well.md").read_text(encoding="utf-8")


def rows(first_heading: str) -> list[list[str]]:
    """Cells of the table whose first heading this is."""
    table = PAGE.split(f"| {first_heading} |", 1)[1].split("\n\n", 1)[0].splitlines()[2:]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in table]


def clamped_over_flexible(stiffness_ratio: float) -> float:
    """Fundamental of a span clamped at both ends over that of a flexible one.

    Derived from the shape A·cosh(a·x) + B·sinh(a·x) + C·cos(b·x) + D·sin(b·x) with deflection and slope 0 at
    both ends, a² = b² + xi² and the frequency a·b/(2·pi) in units of sqrt(EI/m)/L². Divided by cosh(a) lest
    it overflow.
    """

    def equation(b: float) -> float:
        a = math.hypot(b, stiffness_ratio)
        return 2 * a * b * (1 / math.cosh(a) - math.cos(b)) + (a**2 - b**2) * math.tanh(a) * math.sin(b)

    b = float(brentq(equation, math.pi * (1 + 1e-9), 1.75 * math.pi, xtol=1e-13))
    return math.hypot(b, stiffness_ratio) * b / (math.pi * stiffness_ratio)


def hinged_over_flexible(stiffness_ratio: float) -> float:
    """Fundamental of a span hinged at both ends over that of a flexible one."""
    return math.sqrt(1 + (math.pi / stiffness_ratio) ** 2)


def finite_elements_over_flexible(stiffness_ratio: float, clamped: bool) -> float:
    """The same from beam elements: cubic shapes, consistent mass, geometric stiffness; EI, m and L are 1."""
    n_elements = 80
    h = 1 / n_elements
    bending = np.array(
        [[12, 6 * h, -12, 6 * h], [0, 4 * h**2, -6 * h, 2 * h**2], [0, 0, 12, -6 * h], [0, 0, 0, 4 * h**2]]
    ) / (h**3)
    tension = np.array(
        [[36, 3 * h, -36, 3 * h], [0, 4 * h**2, -3 * h, -(h**2)], [0, 0, 36, -3 * h], [0, 0, 0, 4 * h**2]]
    ) / (30 * h)
    mass = np.array(
        [
            [156, 22 * h, 54, -13 * h],
            [0, 4 * h**2, 13 * h, -3 * h**2],
            [0, 0, 156, -22 * h],
            [0, 0, 0, 4 * h**2],
        ]
    ) * (h / 420)
    stiffness, inertia = np.zeros((2, 2 * n_elements + 2, 2 * n_elements + 2))
    for element in range(n_elements):
        place = slice(2 * element, 2 * element + 4)
        stiffness[place, place] += bending + stiffness_ratio**2 * tension
        inertia[place, place] += mass
    fixed = [0, 1, -2, -1] if clamped else [0, -2]
    free = np.delete(np.arange(2 * n_elements + 2), fixed)
    lowest = eigh(
        stiffness[np.ix_(free, free)],
        inertia[np.ix_(free, free)],
        lower=False,
        eigvals_only=True,
        subset_by_index=[0, 0],
    )[0]
    return math.sqrt(lowest) / (math.pi * stiffness_ratio)


@pytest.mark.parametrize("stiffness_ratio", [10, 20, 50])
def test_frequency_equations_agree_with_finite_elements(stiffness_ratio: float) -> None:
    for clamped, formula in ((True, clamped_over_flexible), (False, hinged_over_flexible)):
        elements = finite_elements_over_flexible(stiffness_ratio, clamped)
        assert elements == pytest.approx(formula(stiffness_ratio), rel=2e-5)


@pytest.mark.parametrize("row", rows("ξ"), ids=lambda row: f"xi {row[0]}")
def test_error_of_the_flexible_formula_is_as_the_table_says(row: list[str]) -> None:
    true_tension_n, span_length_m, density = 400.0, 0.2, 0.15
    flexible_hz = fundamental_frequency(true_tension_n, span_length_m, density)
    computed = []
    for formula in (clamped_over_flexible, hinged_over_flexible):
        shown_n = static_tension(formula(float(row[0])) * flexible_hz, span_length_m, density)
        computed += [shown_n / true_tension_n - 1, 1 - true_tension_n / shown_n]
    assert row[1:] == [f"{100 * share:.1f} %" for share in computed]


def test_range_in_bold_is_that_of_the_usual_spans() -> None:
    least, most = (1 - 1 / clamped_over_flexible(xi) ** 2 for xi in (150, 20))
    assert f"by some {100 * least:.0f} to {100 * most:.0f} % for most spans" in " ".join(PAGE.split())


def test_hard_pluck_glides_as_far_as_it_says() -> None:
    # Small-amplitude law of a string that stretches: f(a)/f0 = 1 + (3/32)·(EA/T)·(pi·a/L)².
    glide = {a: 3 / 32 * (1e5 / 400) * (math.pi * a / 0.2) ** 2 for a in (0.001, 0.003)}
    assert glide[0.001] == pytest.approx(0.006, abs=0.0005)
    assert glide[0.003] == pytest.approx(0.05, abs=0.005)


def test_factors_for_few_plucks_are_those_of_students_t() -> None:
    two, three, five, ten = (f"{coverage_factor(n - 1):.1f}" for n in (2, 3, 5, 10))
    promised = f"by a factor of {two} for two plucks, {three} for three, {five} for five, {ten} for ten"
    assert promised in " ".join(PAGE.split())


def test_limit_of_agreement_is_that_of_the_code() -> None:
    assert f"differ by more than {100 * LARGEST_AGREEING_DIFFERENCE:.0f} %" in PAGE


def test_each_reason_of_a_refusal_has_its_remedy() -> None:
    assert [row[0].strip("`") for row in rows("reason")] == [reason.value for reason in RefusalReason]
    assert all(row[1] and row[2] for row in rows("reason"))


def test_cautions_are_those_that_the_tool_gives() -> None:
    assert PAGE.split("## Cautions\n\n", 1)[1].strip() == cautions_text()


def test_every_option_named_exists() -> None:
    known = {
        option
        for name in ("read", "listen", "devices")
        for parameter in importlib.import_module(f"tensionear.cli.{name}").command.params
        for option in parameter.opts
    }
    named = set(re.findall(r"`(--[a-z0-9-]+)", PAGE))
    assert {"--device", "--span-length-within-mm", "--calibration", "--belt-width-mm"} <= named <= known


def test_nothing_said_of_the_stiffness_gives_the_interval_that_it_says() -> None:
    found = BeltTask(KnownSpan.taken(BeltSpan(0.213, 0.0006, 0.165, 0.001))).assessment(Measured(110.0, 0.1))
    assert found.tension is not None
    share = found.tension.expanded_uncertainty / found.tension.value
    assert f"with a ± of {100 * share:.0f} % or so" in " ".join(PAGE.split())
