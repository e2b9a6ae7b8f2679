import math
import re
from collections.abc import Callable

import numpy as np
import pytest

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.comparison import Baseline, ComparedQuantity, Comparison, SingleValue
from tensionear.belt.deflection import deflection_under_force, tension_of_deflection
from tensionear.belt.estimate import Estimate
from tensionear.belt.span import BeltSpan
from tensionear.belt.specification import Specification
from tensionear.belt.stated_value import BeltState, Method, Push, ReferenceSpan, Stated
from tensionear.belt.stiff_span import partial_frequency
from tensionear.belt.stiffness import SpanStiffness
from tensionear.belt.tension import fundamental_frequency, static_tension
from tensionear.errors import InputError

SOURCE = "invented workshop manual, page 12, 2026-01-05"
SPAN = BeltSpan(0.2, 0.001, 0.15, 0.003)
NEWTONS = ToleranceBand(380, 420, BandUnit.NEWTON)
HERTZ = ToleranceBand(112, 120, BandUnit.HERTZ)
ANY, NEW, RUN_IN, OVER_TENSION = BeltState.ANY, BeltState.NEW, BeltState.RUN_IN, BeltState.OVER_TENSION


def stated(
    method: Method,
    value: ToleranceBand | SingleValue | Push,
    reference: ReferenceSpan | None = None,
    state: BeltState = ANY,
) -> Specification:
    return Specification(method, (Stated(state, value),), SOURCE, reference)


def band_of(comparison: Comparison) -> tuple[float, float]:
    assert isinstance(comparison.limits, ToleranceBand)
    return comparison.limits.lower, comparison.limits.upper


def test_frequency_is_compared_as_a_frequency_and_needs_no_span() -> None:
    comparison = stated(Method.FREQUENCY, HERTZ).comparison(NEW, None)
    assert comparison == Comparison(
        quantity=ComparedQuantity.FREQUENCY,
        limits=HERTZ,
        limits_relative_standard_uncertainty=0.0,
        constants=None,
        is_specification=True,
        sentence=(
            "The fundamental frequency is compared with the frequency that is specified for this span,"
            f" 112 to 120 Hz (new belt). Source: {SOURCE}."
        ),
    )


def test_frequency_for_a_reference_span_is_converted_to_this_one() -> None:
    # By hand: f goes as 1/(L·√m). From 250 mm and 96 g/m to 200 mm and 150 g/m: times 1.25 and 0.8, unchanged.
    reference = ReferenceSpan(0.25, 0.096)
    comparison = stated(Method.FREQUENCY, HERTZ, reference).comparison(NEW, SPAN)
    assert comparison.quantity is ComparedQuantity.FREQUENCY
    assert band_of(comparison) == pytest.approx((112, 120))
    # 0.5 % of the length, half of 2 % of the density
    assert comparison.limits_relative_standard_uncertainty == pytest.approx(math.hypot(0.005, 0.01))
    assert "on the stated span length 250 mm and the stated linear density 96 g/m" in comparison.sentence
    assert "as if both were flexible" in comparison.sentence


def test_reference_of_a_length_only_leaves_the_density_out() -> None:
    comparison = stated(Method.FREQUENCY, HERTZ, ReferenceSpan(0.25)).comparison(NEW, SPAN)
    assert band_of(comparison) == pytest.approx((140, 150))
    assert comparison.limits_relative_standard_uncertainty == pytest.approx(0.005)


def test_tension_for_a_vibration_is_compared_with_the_formula_and_the_constants_that_it_was_stated_with() -> (
    None
):
    comparison = stated(Method.VIBRATION_TENSION, NEWTONS, ReferenceSpan(0.21, 0.14)).comparison(NEW, SPAN)
    assert comparison.quantity is ComparedQuantity.FLEXIBLE_TENSION
    assert comparison.constants == BeltSpan(0.21, 0.0, 0.14, 0.0)
    assert comparison.limits == NEWTONS
    assert comparison.limits_relative_standard_uncertainty == 0
    assert "the stiffness-corrected tension is not used" in comparison.sentence
    assert "the stated span length 210 mm and the stated linear density 140 g/m" in comparison.sentence


def test_what_the_reference_leaves_open_is_this_spans_own_with_its_uncertainty() -> None:
    comparison = stated(Method.VIBRATION_TENSION, NEWTONS, ReferenceSpan(None, 0.14)).comparison(NEW, SPAN)
    assert comparison.constants == BeltSpan(0.2, 0.001, 0.14, 0.0)
    assert "this span's length and the stated linear density 140 g/m" in comparison.sentence


def test_tension_as_a_force_is_compared_with_the_corrected_tension() -> None:
    comparison = stated(Method.FORCE, NEWTONS).comparison(RUN_IN, SPAN)
    assert comparison.quantity is ComparedQuantity.CORRECTED_TENSION
    assert comparison.limits == NEWTONS
    assert comparison.constants is None
    assert "corrected for the belt's stiffness" in comparison.sentence
    assert "380 to 420 N (run-in belt)" in comparison.sentence


def test_deflection_is_compared_as_the_frequency_of_a_span_that_gives_so() -> None:
    # By hand: T = F·L/(4·d) is 400 N for 24 N and 3 mm, 300 N for 4 mm.
    push = Push(24.0, 24.0, 0.003, 0.004)
    comparison = stated(Method.DEFLECTION, push).comparison(NEW, SPAN)
    assert comparison.quantity is ComparedQuantity.FREQUENCY
    expected = [fundamental_frequency(tension_n, 0.2, 0.15) for tension_n in (300.0, 400.0)]
    assert band_of(comparison) == pytest.approx(expected)
    assert "(at 300 to 400 N)" in comparison.sentence
    assert "where they only hinge it, these limits are too high" in comparison.sentence
    # f = √(F/(16·m·L·d)): half of 0.5 % of the length and half of 2 % of the density
    assert comparison.limits_relative_standard_uncertainty == pytest.approx(
        math.hypot(0.0025, 0.01), rel=1e-4
    )


def test_range_of_forces_makes_the_same_band_as_that_of_deflections() -> None:
    by_force = stated(Method.DEFLECTION, Push(18.0, 24.0, 0.003, 0.003)).comparison(NEW, SPAN)
    by_deflection = stated(Method.DEFLECTION, Push(24.0, 24.0, 0.003, 0.004)).comparison(NEW, SPAN)
    assert band_of(by_force) == pytest.approx(band_of(by_deflection))


@pytest.mark.parametrize("end_fixity", [0.0, 0.5, 1.0])
def test_stiff_span_that_gives_as_specified_rings_at_the_limit(end_fixity: float) -> None:
    tension_n, stiffness_n_m2 = 400.0, 0.04  # a stiffness ratio of 20
    given_m = deflection_under_force(24.0, tension_n, 0.2, stiffness_n_m2, end_fixity)
    specification = stated(Method.DEFLECTION, Push(24.0, 24.0, given_m, 1.2 * given_m))
    comparison = specification.comparison(NEW, SPAN, SpanStiffness(stiffness_n_m2, 0.0, end_fixity, 0.0))
    rings_hz = partial_frequency(tension_n, 0.2, 0.15, stiffness_n_m2, end_fixity)
    assert band_of(comparison)[1] == pytest.approx(rings_hz, rel=1e-9)
    assert "with the belt's stiffness taken into account" in comparison.sentence


@pytest.mark.parametrize(("stiffness_ratio", "harm"), [(10, 0.016), (20, 0.007), (50, 0.002)])
def test_leaving_the_stiffness_out_does_little_harm_to_a_deflection_where_the_ends_are_clamped(
    stiffness_ratio: float, harm: float
) -> None:
    tension_n = 400.0
    stiffness_n_m2 = tension_n * (0.2 / stiffness_ratio) ** 2
    given_m = deflection_under_force(24.0, tension_n, 0.2, stiffness_n_m2, 1.0)
    specification = stated(Method.DEFLECTION, Push(24.0, 24.0, given_m, 1.2 * given_m))
    limit_hz = band_of(specification.comparison(NEW, SPAN))[1]
    rings_hz = partial_frequency(tension_n, 0.2, 0.15, stiffness_n_m2, 1.0)
    assert limit_hz == pytest.approx(rings_hz, rel=harm)
    hinged_m = deflection_under_force(24.0, tension_n, 0.2, stiffness_n_m2, 0.0)
    hinged = stated(Method.DEFLECTION, Push(24.0, 24.0, hinged_m, 1.2 * hinged_m)).comparison(NEW, SPAN)
    assert band_of(hinged)[1] > partial_frequency(tension_n, 0.2, 0.15, stiffness_n_m2, 0.0)


def test_uncertainty_of_deflection_limits_is_that_of_inputs_drawn_at_random() -> None:
    stiffness = SpanStiffness(0.03, 0.004, 0.5, 0.1)
    comparison = stated(Method.DEFLECTION, Push(24.0, 24.0, 0.003, 0.004)).comparison(NEW, SPAN, stiffness)
    draw = np.random.default_rng(11)
    drawn = draw.normal([0.2, 0.15, 0.03, 0.5], [0.001, 0.003, 0.004, 0.1], (1000, 4))
    relative = []
    for deflection_m in (0.003, 0.004):
        limits = [
            partial_frequency(
                tension_of_deflection(24.0, deflection_m, length, ei, fixity), length, m, ei, fixity
            )
            for length, m, ei, fixity in drawn
        ]
        relative.append(float(np.std(limits) / np.mean(limits)))
    assert comparison.limits_relative_standard_uncertainty == pytest.approx(max(relative), rel=0.08)


def test_bending_stiffness_known_to_the_order_only_is_taken() -> None:
    stiffness = SpanStiffness(0.02, 0.02)
    comparison = stated(Method.DEFLECTION, Push(24.0, 24.0, 0.003, 0.004)).comparison(NEW, SPAN, stiffness)
    # More than what span length and density leave (1.03 %), and far less than the 100 % of the stiffness.
    assert 0.015 < comparison.limits_relative_standard_uncertainty < 0.03


@pytest.mark.parametrize(
    ("method", "single", "reference"),
    [
        (Method.FREQUENCY, SingleValue(115, BandUnit.HERTZ), None),
        (Method.FREQUENCY, SingleValue(115, BandUnit.HERTZ), ReferenceSpan(0.25)),
        (Method.FORCE, SingleValue(400, BandUnit.NEWTON), None),
        (Method.DEFLECTION, Push(24.0, 24.0, 0.003, 0.003), None),
    ],
)
def test_value_without_tolerance_is_an_aim_and_no_band(
    method: Method, single: SingleValue | Push, reference: ReferenceSpan | None
) -> None:
    comparison = stated(method, single, reference).comparison(NEW, SPAN)
    assert isinstance(comparison.limits, SingleValue)
    assert "(stated without tolerance: no verdict)" in comparison.sentence


def test_new_run_in_and_over_tensioned_belts_have_their_own_values() -> None:
    over = SingleValue(600, BandUnit.NEWTON)
    new, run_in = (ToleranceBand(low, low + 40, BandUnit.NEWTON) for low in (420, 340))
    values = (Stated(NEW, new), Stated(RUN_IN, run_in), Stated(OVER_TENSION, over))
    specification = Specification(Method.FORCE, values, SOURCE)
    chosen = [specification.comparison(state, None).limits for state in (NEW, RUN_IN, OVER_TENSION)]
    assert chosen == [new, run_in, over]


@pytest.mark.parametrize(
    ("given", "asked"), [(NEW, RUN_IN), (RUN_IN, NEW), (ANY, OVER_TENSION), (OVER_TENSION, NEW), (NEW, ANY)]
)
def test_value_of_one_belt_is_never_used_for_another(given: BeltState, asked: BeltState) -> None:
    specification = stated(Method.FORCE, NEWTONS, state=given)
    message = f"the specification states nothing for {asked}, only for {given}: ask the manufacturer"
    with pytest.raises(InputError, match=message):
        specification.comparison(asked, SPAN)


def test_value_for_any_belt_holds_for_a_new_and_a_run_in_one() -> None:
    specification = stated(Method.FORCE, NEWTONS)
    assert [specification.comparison(state, None).limits for state in (ANY, NEW, RUN_IN)] == [NEWTONS] * 3


@pytest.mark.parametrize("source", ["", "  \n"])
def test_specification_without_a_source_is_refused(source: str) -> None:
    with pytest.raises(
        InputError, match="the source of the specification is missing: name document, page and"
    ):
        Specification(Method.FORCE, (Stated(ANY, NEWTONS),), source)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Specification(Method.FORCE, (), SOURCE), "the specification has no value"),
        (
            lambda: Specification(Method.FORCE, (Stated(NEW, NEWTONS), Stated(NEW, NEWTONS)), SOURCE),
            "the specification has two values for new belt: which one holds?",
        ),
        (
            lambda: stated(Method.FREQUENCY, NEWTONS),
            "any belt: a frequency is given in Hz, not in N: is the method right?",
        ),
        (
            lambda: stated(Method.FORCE, HERTZ),
            "any belt: a tension as a force is given in N, not in Hz: is the method right?",
        ),
        (
            lambda: stated(Method.DEFLECTION, NEWTONS),
            "any belt: a deflection under a force needs a force and a deflection: is the method right?",
        ),
        (
            lambda: stated(Method.FORCE, Push(24, 24, 0.003, 0.004)),
            "any belt: a tension as a force needs a value in N: is the method right?",
        ),
        (
            lambda: stated(Method.VIBRATION_TENSION, NEWTONS),
            "needs the span length and the linear density that it was stated with",
        ),
        (
            lambda: stated(Method.FORCE, NEWTONS, ReferenceSpan(0.2, 0.15)),
            "a tension as a force has no reference span: is it meant as a tension from a vibration?",
        ),
        (
            lambda: ReferenceSpan(250.0),
            "span length 250 m is longer than 5 m: was it entered in millimetres?",
        ),
        (
            lambda: ReferenceSpan(0.25, 96.0),
            "linear density 96 kg/m is heavier than 5 kg/m: was it entered in",
        ),
        (lambda: Push(24, 20, 0.003, 0.003), "force from 24 to 20 N: is the range upside down?"),
        (lambda: Push(20, 24, 0.003, 0.004), "both force and deflection are ranges: which one is measured"),
        (lambda: Push(24, 24, 0.0, 0.004), "deflection 0 m must be above 0 m: was it left empty?"),
        (
            lambda: SingleValue(0.4, BandUnit.NEWTON),
            "band limit 0.4 N is less than 5 N: was it entered in kilonew",
        ),
    ],
)
def test_specification_that_does_not_fit_together_is_refused(
    make: Callable[[], object], message: str
) -> None:
    with pytest.raises(InputError, match=re.escape(message)):
        make()


@pytest.mark.parametrize(
    "specification",
    [
        stated(Method.FREQUENCY, HERTZ, ReferenceSpan(0.25)),
        stated(Method.VIBRATION_TENSION, NEWTONS, ReferenceSpan(0.25)),
        stated(Method.DEFLECTION, Push(24, 24, 0.003, 0.004)),
    ],
)
def test_specification_that_needs_this_span_asks_for_it(specification: Specification) -> None:
    with pytest.raises(InputError, match="add the span length and the linear density"):
        specification.comparison(NEW, None)


def test_limits_that_come_out_implausible_are_refused_as_converted() -> None:
    specification = stated(Method.FREQUENCY, HERTZ, ReferenceSpan(4.0, 0.15))
    with pytest.raises(InputError, match=r"^converted to this span, band limit 2240 Hz is more than 600 Hz"):
        specification.comparison(NEW, SPAN)


def test_converted_frequency_means_the_same_tension() -> None:
    reference = ReferenceSpan(0.31, 0.11)
    lower, upper = band_of(stated(Method.FREQUENCY, HERTZ, reference).comparison(NEW, SPAN))
    for here, there in ((lower, 112.0), (upper, 120.0)):
        assert static_tension(here, 0.2, 0.15) == pytest.approx(static_tension(there, 0.31, 0.11))


def test_baseline_compares_frequencies_and_says_that_it_is_no_specification() -> None:
    comparison = Baseline(Estimate(120.0, 0.6), 5.0, "invented job 17, 2026-01-05").comparison()
    assert comparison.quantity is ComparedQuantity.FREQUENCY
    assert not comparison.is_specification
    assert band_of(comparison) == pytest.approx((114, 126))
    assert comparison.limits_relative_standard_uncertainty == pytest.approx(0.005)
    assert comparison.sentence.startswith("There is no specification.")
    assert comparison.sentence.endswith("Earlier job: invented job 17, 2026-01-05.")


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Baseline(Estimate(120.0), 5.0, " "), "which earlier job the baseline is from is missing"),
        (lambda: Baseline(Estimate(120.0), 0.0, "job"), "0 % about a baseline is not above 0"),
        (
            lambda: Baseline(Estimate(120.0), 40.0, "job"),
            "not more than 30: were hertz entered for per cent?",
        ),
        (lambda: Baseline(Estimate(5.0), 5.0, "job"), "band limit 4.75 Hz is less than 20 Hz"),
    ],
)
def test_impossible_baseline_is_refused(make: Callable[[], object], message: str) -> None:
    with pytest.raises(InputError, match=re.escape(message)):
        make()
