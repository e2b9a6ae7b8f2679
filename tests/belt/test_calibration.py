"""Calibrations on frequencies whose truth is known, drawn with their own uncertainty; all values invented."""

import math
import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
import scipy.linalg

from tensionear.belt.calibration import (
    STANDARD_GRAVITY_M_PER_S2,
    Calibration,
    calibrate_on_rig,
    stiffness_from_spans,
)
from tensionear.belt.estimate import Estimate
from tensionear.belt.plucked_spans import HungSpan, PluckedPartial, PluckedSpan
from tensionear.belt.stiff_span import partial_frequency, tension_of_partial
from tensionear.belt.stiffness import UNKNOWN_END_FIXITY
from tensionear.belt.tension import static_tension
from tensionear.errors import InputError

DENSITY, BENDING, TENSION_N = 0.165, 0.02, 400.0
RELATIVE_UNCERTAINTY = 5e-4
CLAMPED = Estimate(1.0)
MASS_KG = Estimate(20.0)


def heard(
    rng: np.random.Generator | None, tension_n: float, length_m: float, numbers: Sequence[int], fixity: float
) -> tuple[PluckedPartial, ...]:
    """Partials as they ring, or with noise if there is a generator."""
    partials = []
    for number in numbers:
        true_hz = partial_frequency(tension_n, length_m, DENSITY, BENDING, fixity, number)
        noise = rng.standard_normal() if rng else 0.0
        partials.append(
            PluckedPartial(
                true_hz * (1 + RELATIVE_UNCERTAINTY * noise), RELATIVE_UNCERTAINTY * true_hz, number
            )
        )
    return tuple(partials)


def on_engine(
    rng: np.random.Generator | None, length_m: float, numbers: Sequence[int], fixity: float, u_m: float = 0.0
) -> PluckedSpan:
    true_m = length_m + (u_m * rng.standard_normal() if rng else 0.0)
    return PluckedSpan(Estimate(length_m, u_m), heard(rng, TENSION_N, true_m, numbers, fixity))


def on_rig(
    rng: np.random.Generator | None,
    lengths_m: Sequence[float],
    numbers: Sequence[int] = (1,),
    masses: Sequence[Estimate] = (MASS_KG,),
    fixity: float = 1.0,
) -> list[HungSpan]:
    return [
        HungSpan(
            Estimate(length_m),
            mass,
            heard(
                rng,
                STANDARD_GRAVITY_M_PER_S2 * (mass.value + DENSITY * length_m / 2),
                length_m,
                numbers,
                fixity,
            ),
        )
        for length_m in lengths_m
        for mass in masses
    ]


def offsets(calibration: Calibration, **truth: float) -> list[float]:
    """Error of each quantity over its standard uncertainty."""
    return [
        (calibration.estimate(name).value - value) / calibration.estimate(name).standard_uncertainty
        for name, value in truth.items()
    ]


class TestFromPartialsOfOneSpan:
    def test_true_frequencies_give_the_true_belt(self) -> None:
        span = on_engine(None, 0.2, (1, 2, 3, 4), 1.0)
        found = stiffness_from_spans([span], Estimate(DENSITY), end_fixity=CLAMPED)
        assert found.estimate("tension_n").value == pytest.approx(TENSION_N, rel=1e-7)
        assert found.estimate("bending_stiffness_n_m2").value == pytest.approx(BENDING, rel=1e-6)
        assert found.names == ("tension_n", "bending_stiffness_n_m2")
        assert found.held == {"linear_density_kg_per_m": DENSITY, "end_fixity": 1.0}
        assert found.degrees_of_freedom == 2
        np.testing.assert_allclose(found.residuals_hz, 0, atol=1e-5)

    def test_uncertainties_are_those_of_the_scatter(self) -> None:
        rng = np.random.default_rng(41)
        errors = []
        for _ in range(30):
            span = on_engine(rng, 0.2, (1, 2, 3, 4, 5), 1.0, u_m=2e-4)
            density = Estimate(DENSITY + 0.001 * rng.standard_normal(), 0.001)
            found = stiffness_from_spans([span], density, end_fixity=CLAMPED)
            errors.append(offsets(found, tension_n=TENSION_N, bending_stiffness_n_m2=BENDING))
        # Thirty draws show a standard deviation to 13 %; the growth by chi-square makes it a little less than 1.
        assert np.all(np.abs(np.std(errors, axis=0) - 0.9) < 0.3)
        assert np.all(np.abs(np.mean(errors, axis=0)) < 0.45)

    def test_unknown_ends_leave_the_tension_uncertain_and_say_so(self) -> None:
        span = on_engine(None, 0.2, (1, 2, 3, 4), 1.0)
        known = stiffness_from_spans([span], Estimate(DENSITY), end_fixity=CLAMPED).estimate("tension_n")
        vague = stiffness_from_spans([span], Estimate(DENSITY)).estimate("tension_n")
        assert vague.standard_uncertainty > 5 * known.standard_uncertainty
        assert abs(vague.value - TENSION_N) < 2 * vague.standard_uncertainty

    def test_known_density_scales_the_tension_exactly(self) -> None:
        span = on_engine(None, 0.2, (1, 2, 3, 4), 1.0)
        once = stiffness_from_spans([span], Estimate(DENSITY), end_fixity=CLAMPED)
        twice = stiffness_from_spans([span], Estimate(2 * DENSITY), end_fixity=CLAMPED)
        assert twice.estimate("tension_n").value == pytest.approx(
            2 * once.estimate("tension_n").value, rel=1e-7
        )


class TestFromSpansOfDifferentLength:
    def test_two_fundamentals_give_tension_and_bending_stiffness(self) -> None:
        spans = [on_engine(None, 0.25, (1,), 1.0), on_engine(None, 0.1, (1,), 1.0)]
        found = stiffness_from_spans(spans, Estimate(DENSITY), end_fixity=CLAMPED)
        assert found.estimate("tension_n").value == pytest.approx(TENSION_N, rel=1e-6)
        assert found.estimate("bending_stiffness_n_m2").value == pytest.approx(BENDING, rel=1e-5)
        assert found.reduced_chi_square is None

    def test_they_give_the_ends_if_the_bending_stiffness_is_known(self) -> None:
        spans = [on_engine(None, 0.25, (1,), 0.6), on_engine(None, 0.1, (1,), 0.6)]
        found = stiffness_from_spans(spans, Estimate(DENSITY), Estimate(BENDING, 0.001), end_fixity=None)
        assert found.estimate("end_fixity").value == pytest.approx(0.6, abs=1e-4)
        assert found.estimate("tension_n").value == pytest.approx(TENSION_N, rel=1e-5)
        # A stiffer belt would need looser ends.
        assert found.correlation("bending_stiffness_n_m2", "end_fixity") < -0.3

    def test_uncertainties_are_those_of_the_scatter(self) -> None:
        rng = np.random.default_rng(42)
        errors = []
        for _ in range(30):
            spans = [on_engine(rng, 0.25, (1, 2), 0.7, 2e-4), on_engine(rng, 0.1, (1, 2), 0.7, 2e-4)]
            bending = Estimate(BENDING + 0.001 * rng.standard_normal(), 0.001)
            found = stiffness_from_spans(spans, Estimate(DENSITY), bending, end_fixity=None)
            errors.append(offsets(found, tension_n=TENSION_N, end_fixity=0.7))
        assert np.all(np.abs(np.std(errors, axis=0) - 0.9) < 0.3)
        assert np.all(np.abs(np.mean(errors, axis=0)) < 0.45)


class TestOnRig:
    def test_noisy_fundamentals_give_density_stiffness_and_a_right_reading_afterwards(self) -> None:
        """The density within 0.5 %, EI within 10 %; a later short span within 2 %, where flexible is 9 % off."""
        rng = np.random.default_rng(43)
        for _ in range(20):
            found = calibrate_on_rig(on_rig(rng, (0.12, 0.2, 0.35, 0.6)))
            density = found.estimate("linear_density_kg_per_m").value
            bending = found.estimate("bending_stiffness_n_m2").value
            assert density == pytest.approx(DENSITY, rel=0.005)
            assert bending == pytest.approx(BENDING, rel=0.10)
            for tension_n, length_m in [(400.0, 0.15), (250.0, 0.25), (600.0, 0.12)]:
                (fundamental,) = heard(rng, tension_n, length_m, (1,), 1.0)
                flexible_n = static_tension(fundamental.frequency_hz, length_m, DENSITY)
                assert flexible_n / tension_n > 1.09
                read_n = tension_of_partial(fundamental.frequency_hz, length_m, density, bending, 1.0)
                assert read_n == pytest.approx(tension_n, rel=0.02)

    def test_uncertainties_are_those_of_the_scatter(self) -> None:
        rng = np.random.default_rng(44)
        errors = []
        for _ in range(30):
            found = calibrate_on_rig(on_rig(rng, (0.12, 0.2, 0.35, 0.6, 0.8)))
            errors.append(offsets(found, linear_density_kg_per_m=DENSITY, bending_stiffness_n_m2=BENDING))
        assert np.all(np.abs(np.std(errors, axis=0) - 0.9) < 0.3)
        assert np.all(np.abs(np.mean(errors, axis=0)) < 0.45)

    def test_ends_come_out_too_where_partials_and_lengths_are_many(self) -> None:
        spans = on_rig(None, (0.1, 0.2, 0.5), (1, 2, 3, 4), (Estimate(8.0), Estimate(30.0)), fixity=0.8)
        found = calibrate_on_rig(spans, end_fixity=None)
        assert found.estimate("end_fixity").value == pytest.approx(0.8, abs=1e-4)
        assert found.estimate("linear_density_kg_per_m").value == pytest.approx(DENSITY, rel=1e-5)
        assert found.degrees_of_freedom == 24 - 3

    def test_weighed_density_and_uncertain_mass_take_part(self) -> None:
        masses = (Estimate(20.0, 0.05),)
        weighed = Estimate(DENSITY, 0.0008)
        both = calibrate_on_rig(on_rig(None, (0.12, 0.3, 0.6), masses=masses), weighed)
        alone = calibrate_on_rig(on_rig(None, (0.12, 0.3, 0.6), masses=masses))
        name = "linear_density_kg_per_m"
        assert both.estimate(name).standard_uncertainty < alone.estimate(name).standard_uncertainty
        # 0.25 % of mass is as much of density, and no number of plucks takes it away.
        assert alone.estimate(name).standard_uncertainty > 0.0025 * DENSITY

    def test_gravity_goes_into_the_density(self) -> None:
        spans = on_rig(None, (0.12, 0.3, 0.6))
        low = calibrate_on_rig(spans, gravity_m_per_s2=9.78).estimate("linear_density_kg_per_m").value
        assert low / DENSITY == pytest.approx(9.78 / STANDARD_GRAVITY_M_PER_S2, rel=1e-5)

    def test_half_the_hanging_belts_weight_is_what_its_fundamental_feels(self) -> None:
        """A string whose tension grows along it, by finite differences, with SciPy's eigenvalues."""
        n, relative_weight = 2000, 0.1
        tension = 1 + relative_weight * (np.arange(n) + 0.5) / n  # 1 at the lower clamp
        lowest = scipy.linalg.eigh_tridiagonal(
            tension[:-1] + tension[1:], -tension[1:-1], eigvals_only=True, select="i", select_range=(0, 2)
        )
        uniform_squared = (2 * n * np.sin(np.pi * np.arange(1, 4) / (2 * n))) ** 2 / n**2
        np.testing.assert_allclose(lowest / uniform_squared, 1 + relative_weight / 2, rtol=7e-4)


class TestRefusals:
    def test_too_few_frequencies(self) -> None:
        message = "1 frequency cannot determine the linear density and the bending stiffness: give at least 2"
        with pytest.raises(InputError, match=f"^{message}"):
            calibrate_on_rig(on_rig(None, (0.3,)))

    def test_the_same_observation_twice(self) -> None:
        with pytest.raises(
            InputError, match="cannot tell the linear density and the bending stiffness apart"
        ):
            calibrate_on_rig(on_rig(None, (0.3, 0.3)))

    def test_long_spans_that_do_not_show_the_stiffness(self) -> None:
        with pytest.raises(
            InputError, match=r"cannot determine the bending stiffness: .* pluck at other lengths"
        ):
            calibrate_on_rig(on_rig(np.random.default_rng(1), (2.0, 2.5)))

    def test_partials_of_one_span_for_its_ends(self) -> None:
        span = on_engine(np.random.default_rng(2), 0.3, (1, 2, 3), 1.0)
        with pytest.raises(InputError, match="these frequencies cannot"):
            stiffness_from_spans([span], Estimate(DENSITY), end_fixity=None)

    def test_as_many_unknowns_as_fundamentals_where_two_belts_explain_them(self) -> None:
        rng = np.random.default_rng(3)
        for _ in range(2):
            with pytest.raises(InputError, match="these frequencies cannot"):
                calibrate_on_rig(on_rig(rng, (0.12, 0.2, 0.5)), end_fixity=None)

    def test_a_partial_with_a_wrong_number(self) -> None:
        spans = on_rig(None, (0.2, 0.3, 0.6), (1, 2))
        wrong = replace(spans[0].partials[1], number=3)
        spans[0] = replace(spans[0], partials=(spans[0].partials[0], wrong))
        with pytest.raises(
            InputError, match=r"from the best fit, more than 2%: are its number, length and load"
        ):
            calibrate_on_rig(spans)

    def test_a_mass_that_the_belt_nearly_outweighs(self) -> None:
        with pytest.raises(InputError, match="more than 10% of the mass below it: hang more"):
            calibrate_on_rig(
                on_rig(None, (0.5, 1.5), (1, 2, 3, 4), masses=(Estimate(2.0),)), end_fixity=CLAMPED
            )

    @pytest.mark.parametrize(
        ("make", "message"),
        [
            (lambda: PluckedPartial(0, 0.1), "frequency 0 Hz must be above 0 Hz"),
            (lambda: PluckedPartial(100, 0), "standard uncertainty of the frequency 0 Hz must be above 0 Hz"),
            (lambda: PluckedPartial(100, 0.1, 0), "partial number 0 is not a whole number from 1"),
            (
                lambda: PluckedSpan(Estimate(200), ()),
                "span length 200 m is longer than 5 m: was it entered in milli",
            ),
            (lambda: PluckedSpan(Estimate(0.2), ()), "a span without a frequency tells nothing"),
            (lambda: HungSpan(Estimate(0.2), Estimate(-1), ()), "hung mass -1 kg is negative"),
            (
                lambda: calibrate_on_rig(on_rig(None, (0.2, 0.4)), gravity_m_per_s2=98.1),
                "acceleration of free fall 98.1 m/s² does not lie from 9.7 to 9.9 m/s²",
            ),
            (
                lambda: calibrate_on_rig(on_rig(None, (0.2, 0.4)), end_fixity=Estimate(2.0)),
                "end fixity 2 does not lie from 0 (pinned) to 1 (clamped)",
            ),
        ],
    )
    def test_what_cannot_be_meant(self, make: object, message: str) -> None:
        with pytest.raises(InputError, match=f"^{re.escape(message)}"):
            make()  # type: ignore[operator]


def test_frequencies_that_scatter_more_than_they_say_make_the_result_less_certain() -> None:
    rng = np.random.default_rng(45)
    spans = on_rig(rng, (0.12, 0.2, 0.35, 0.6, 0.8))
    bold = [
        replace(span, partials=tuple(replace(p, standard_uncertainty_hz=1e-3) for p in span.partials))
        for span in spans
    ]
    found = calibrate_on_rig(bold)
    assert found.reduced_chi_square is not None
    assert found.reduced_chi_square > 10
    name = "linear_density_kg_per_m"
    fair = calibrate_on_rig(spans).estimate(name).standard_uncertainty
    assert found.estimate(name).standard_uncertainty == pytest.approx(fair, rel=0.9)


def test_calibration_hands_on_the_stiffness_with_the_ends_of_the_engine() -> None:
    found = calibrate_on_rig(on_rig(None, (0.12, 0.3, 0.6)))
    assert found.span_stiffness().end_fixity == 1.0
    on_pulleys = found.span_stiffness(UNKNOWN_END_FIXITY)
    assert on_pulleys.bending_stiffness_n_m2 == pytest.approx(BENDING, rel=1e-5)
    assert on_pulleys.end_fixity_standard_uncertainty == pytest.approx(0.5 / math.sqrt(3))
    with pytest.raises(KeyError, match="tension_n"):
        found.estimate("tension_n")
    with pytest.raises(KeyError, match="end_fixity"):
        found.correlation("end_fixity", "bending_stiffness_n_m2")
