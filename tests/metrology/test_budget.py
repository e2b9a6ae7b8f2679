"""Budgets against the examples of the GUM and of NIST, and against the package GTC."""

import math
from collections.abc import Callable, Sequence

import GTC
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from tensionear.belt.tension import static_tension
from tensionear.metrology.budget import (
    Budget,
    BudgetInput,
    Correlation,
    Distribution,
    EvaluationType,
    correlation_matrix,
    draw_up,
)
from tensionear.metrology.improvement import dominance, dominance_sentence, improvement
from tensionear.metrology.uncertainty import Measured


def entry(name: str, measured: Measured, distribution: Distribution = Distribution.NORMAL) -> BudgetInput:
    return BudgetInput(name, measured, "1", EvaluationType.B, "invented", distribution)


def of_correlated_means(
    model: Callable[[float, float, float], float], observed: Sequence[Sequence[float]]
) -> Budget:
    """Budget from simultaneous observations of three quantities, as in H.2.3 of the GUM."""
    n = len(observed[0])
    coefficients = np.asarray(np.corrcoef(observed))
    inputs = [
        entry(name, Measured(float(np.mean(each)), float(np.std(each, ddof=1)) / math.sqrt(n), n - 1))
        for name, each in zip("VIφ", observed, strict=True)
    ]
    pairs = [(0, 1), (0, 2), (1, 2)]
    correlations = [Correlation("VIφ"[i], "VIφ"[j], float(coefficients[i, j])) for i, j in pairs]
    return draw_up("impedance", "Ω", model, inputs, correlations)


# GUM H.2, table H.2: five simultaneous observations of voltage [V], current [A] and phase [rad].
OBSERVED = (
    (5.007, 4.994, 5.005, 4.990, 4.999),
    (0.019663, 0.019639, 0.019640, 0.019685, 0.019678),
    (1.0456, 1.0438, 1.0468, 1.0428, 1.0433),
)


@pytest.mark.parametrize(
    ("model", "value", "standard_uncertainty"),
    [
        (lambda v, i, phi: v / i * math.cos(phi), 127.732, 0.071),
        (lambda v, i, phi: v / i * math.sin(phi), 219.847, 0.295),
        (lambda v, i, _: v / i, 254.260, 0.236),
    ],
    ids=["resistance", "reactance", "impedance"],
)
def test_correlated_impedance_of_the_gum(
    model: Callable[[float, float, float], float], value: float, standard_uncertainty: float
) -> None:
    # GUM H.2.3, table H.4. The degrees of freedom are those of the five observations, as for the second approach.
    budget = of_correlated_means(model, OBSERVED)
    assert budget.result.value == pytest.approx(value, abs=0.0006)
    assert budget.result.standard_uncertainty == pytest.approx(standard_uncertainty, abs=0.0006)
    assert budget.result.degrees_of_freedom == pytest.approx(4)
    assert sum(line.share for line in budget.lines) == pytest.approx(1)


def test_end_gauge_of_the_gum_line_by_line() -> None:
    # GUM H.1.7, table H.1: contributions 25, 9.7, 2.9 and 16.6 nm; 32 nm together, effective degrees of freedom
    # 16, U99 = 93 nm (the last two, and the single degrees of freedom, from memory).
    u_and_degrees = {
        "standard": (25, 18),
        "comparison": (9.7, 25.6),
        "expansion": (2.9, 50),
        "bath": (16.6, 2),
    }
    inputs = [entry(name, Measured(0, u, nu)) for name, (u, nu) in u_and_degrees.items()]
    budget = draw_up("length", "nm", lambda *each: 50_000_838 + math.fsum(each), inputs)
    assert [line.contribution for line in budget.lines] == pytest.approx([25, 9.7, 2.9, 16.6], rel=1e-6)
    assert budget.result.standard_uncertainty == pytest.approx(32, abs=0.5)
    assert math.floor(budget.result.degrees_of_freedom) == 16
    assert budget.dominant.given.name == "standard"
    assert budget.line("bath").share == pytest.approx(
        (16.6 / budget.result.standard_uncertainty) ** 2, rel=1e-6
    )


def test_wholly_correlated_resistors_of_the_gum() -> None:
    # GUM 5.2.2, example (from memory): ten resistors of 1000 Ω, each known to 0.1 Ω by the same standard, in
    # series: 1 Ω and not 0.32 Ω.
    names = [f"R{n}" for n in range(10)]
    inputs = [entry(name, Measured(1000, 0.1)) for name in names]
    together = [Correlation(a, b, 1) for i, a in enumerate(names) for b in names[i + 1 :]]
    assert draw_up(
        "R", "Ω", lambda *each: sum(each), inputs, together
    ).result.standard_uncertainty == pytest.approx(1)
    alone = draw_up("R", "Ω", lambda *each: sum(each), inputs)
    assert alone.result.standard_uncertainty == pytest.approx(0.316, abs=0.001)


@given(
    st.lists(st.tuples(st.floats(0.5, 5), st.floats(0.01, 0.2), st.floats(1, 60)), min_size=3, max_size=3),
    st.floats(0.01, 0.95) | st.floats(-0.95, -0.01),
)
def test_budget_agrees_with_gtc(inputs: list[tuple[float, float, float]], coefficient: float) -> None:
    # PyPI package GTC of the Measurement Standards Laboratory of New Zealand: own derivatives, own effective
    # degrees of freedom; the first two inputs are correlated observations and have one number of them.
    (x, ux, degrees), (y, uy, _), (z, uz, of_z) = inputs
    budget = draw_up(
        "q",
        "1",
        lambda a, b, c: a * b**2 / math.sqrt(c),
        [
            entry("a", Measured(x, ux, degrees)),
            entry("b", Measured(y, uy, degrees)),
            entry("c", Measured(z, uz, of_z)),
        ],
        [Correlation("a", "b", coefficient)],
    )
    a, b = GTC.multiple_ureal([x, y], [ux, uy], degrees)
    GTC.set_correlation(coefficient, a, b)
    reference = a * b * b / GTC.sqrt(GTC.ureal(z, uz, of_z))
    assert budget.result.value == pytest.approx(reference.x, rel=1e-12)
    assert budget.result.standard_uncertainty == pytest.approx(reference.u, rel=1e-5)
    assert budget.result.degrees_of_freedom == pytest.approx(reference.df, rel=1e-4)


def test_a_model_that_finds_a_root_has_a_budget() -> None:
    # x·exp(x) = a at a = 2: the sensitivity is 1/(exp(x)·(1 + x)), by implicit differentiation.
    def model(a: float) -> float:
        return float(brentq(lambda x: x * math.exp(x) - a, 0, 5))

    budget = draw_up("x", "1", model, [entry("a", Measured(2, 0.1))])
    x = model(2)
    assert budget.lines[0].sensitivity == pytest.approx(1 / (math.exp(x) * (1 + x)), rel=1e-6)


# Invented short span: 47.6 mm by a tape good for ± 2 mm.
SHORT_SPAN = (
    BudgetInput("fundamental", Measured(400, 1.5, 4), "Hz", EvaluationType.A, "scatter of five plucks"),
    BudgetInput(
        "span length",
        Measured.within(0.0476, 0.002),
        "m",
        EvaluationType.B,
        "tape measure, ± 2 mm",
        Distribution.RECTANGULAR,
        "measuring the span",
    ),
    BudgetInput("linear density", Measured(0.12, 0.0033), "kg/m", EvaluationType.B, "scale"),
)


def test_the_sentence_says_what_dominates_and_what_a_better_measurement_brings() -> None:
    # By hand: 2·1.1547/47.6 = 4.85 %, 2.75 % and 0.75 % make 5.63 %, ± 11 %; 1.21, 2.75 and 0.75 % make ± 6 %.
    budget = draw_up("tension", "N", static_tension, SHORT_SPAN)
    better = improvement(budget, "span length", 0.0005)
    assert better.is_dominant
    assert better.sentence(lambda metres: f"{1000 * metres:.2g} mm") == (
        "measuring the span to ± 0.5 mm instead of ± 2 mm would take ± 11 % to ± 6.1 %"
    )
    assert dominance_sentence(budget).startswith(
        "the span length limits the tension most: measuring the span to ± 0.001 m instead of ± 0.002 m would take"
    )
    assert dominance(budget).after.result.standard_uncertainty < budget.result.standard_uncertainty


def test_the_better_known_budget_is_that_of_the_better_measurement() -> None:
    budget = draw_up("tension", "N", static_tension, SHORT_SPAN)
    better = improvement(budget, "span length", 0.0005)
    afresh = draw_up("tension", "N", static_tension, [SHORT_SPAN[0], better.then, SHORT_SPAN[2]])
    assert better.then.measured.standard_uncertainty == pytest.approx(0.0005 / math.sqrt(3))
    assert better.after.result.standard_uncertainty == pytest.approx(
        afresh.result.standard_uncertainty, rel=1e-9
    )


@pytest.mark.parametrize(
    ("distribution", "factor"),
    [
        (Distribution.NORMAL, 1.959964),
        (Distribution.RECTANGULAR, math.sqrt(3)),
        (Distribution.TRIANGULAR, math.sqrt(6)),
        (Distribution.ARCSINE, math.sqrt(2)),
    ],
)
def test_half_widths_are_those_of_the_distributions(distribution: Distribution, factor: float) -> None:
    # JCGM 101, table 1; GUM 4.3.7 and 4.3.9.
    given_input = entry("x", Measured(1, 0.1), distribution)
    assert given_input.half_width == pytest.approx(0.1 * factor, rel=1e-6)
    assert given_input.known_to(given_input.half_width) == given_input


def test_inputs_known_exactly_have_no_share() -> None:
    budget = draw_up("t", "1", lambda a, b: a + b, [entry("a", Measured(1, 0)), entry("b", Measured(2, 0))])
    assert budget.result == Measured(3, 0)
    assert [line.share for line in budget.lines] == [0, 0]


@pytest.mark.parametrize(
    ("names", "correlations", "message"),
    [
        ("aa", (), "two inputs have one name"),
        ("ab", (Correlation("a", "c", 0.5),), "no two inputs are called a and c"),
        ("ab", (Correlation("a", "a", 0.5),), "no two inputs are called a and a"),
        ("ab", (Correlation("a", "b", 1.5),), "no inputs can be correlated like that"),
        ("ab", (Correlation("a", "b", math.nan),), "no inputs can be correlated like that"),
        (
            "abc",
            (Correlation("a", "b", 0.9), Correlation("b", "c", 0.9), Correlation("a", "c", -0.9)),
            "no inputs can be correlated like that",
        ),
    ],
)
def test_impossible_correlations_are_refused(
    names: str, correlations: Sequence[Correlation], message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        correlation_matrix(list(names), correlations)


def test_an_unknown_input_cannot_be_improved() -> None:
    with pytest.raises(KeyError, match="width"):
        improvement(draw_up("tension", "N", static_tension, SHORT_SPAN), "width")


def test_correlated_inputs_have_the_fewest_degrees_of_freedom_among_them() -> None:
    # With a correlation of 0.5 and u = 1 each, the two are all there is: the fewer observations decide.
    inputs = [entry("a", Measured(1, 1, 3)), entry("b", Measured(1, 1, 30))]
    budget = draw_up("sum", "1", lambda a, b: a + b, inputs, [Correlation("a", "b", 0.5)])
    assert budget.result.standard_uncertainty == pytest.approx(math.sqrt(3))
    assert budget.result.degrees_of_freedom == pytest.approx(3)
