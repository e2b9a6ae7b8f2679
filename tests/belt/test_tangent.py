import math
import re

import numpy as np
import pytest

from tensionear.belt.estimate import Estimate
from tensionear.belt.tangent import (
    Course,
    measured_span_length,
    pitch_radius,
    radius_of_diameter,
    span_length_between,
)
from tensionear.errors import InputError

SAME, CROSSING = Course.SAME_SIDE, Course.CROSSING


def test_right_angled_triangles_of_whole_numbers_give_whole_spans() -> None:
    # Pythagoras 3-4-5 and 5-12-13, in units of 40 and 20 mm.
    same = span_length_between(Estimate(0.2), Estimate(0.15), Estimate(0.03), SAME)
    crossing = span_length_between(Estimate(0.26), Estimate(0.06), Estimate(0.04), CROSSING)
    assert same.value == pytest.approx(0.16)
    assert crossing.value == pytest.approx(0.24)


def test_equal_pulleys_on_the_same_side_have_their_centre_distance_between() -> None:
    length = span_length_between(Estimate(0.213, 0.001), Estimate(0.05, 0.01), Estimate(0.05, 0.01), SAME)
    assert length == Estimate(0.213, 0.001)


def test_pitch_circle_is_as_long_as_its_teeth() -> None:
    radius = pitch_radius(22, 0.008)
    assert 2 * math.pi * radius.value == pytest.approx(0.176)
    assert radius.standard_uncertainty == 0
    assert radius_of_diameter(Estimate(0.1, 0.002)) == Estimate(0.05, 0.001)


@pytest.mark.parametrize("course", [SAME, CROSSING])
def test_uncertainty_is_that_of_inputs_drawn_at_random(course: Course) -> None:
    distance, first, second = inputs = [
        Estimate(0.2, 0.0005),
        Estimate(0.06, 0.0004),
        Estimate(0.025, 0.0003),
    ]
    drawn = np.random.default_rng(4).normal(
        [x.value for x in inputs], [x.standard_uncertainty for x in inputs], (50_000, 3)
    )
    step = drawn[:, 1] - drawn[:, 2] if course is SAME else drawn[:, 1] + drawn[:, 2]
    lengths = np.sqrt(drawn[:, 0] ** 2 - step**2)
    found = span_length_between(distance, first, second, course)
    assert found.standard_uncertainty == pytest.approx(np.std(lengths), rel=0.02)
    assert found.value == pytest.approx(np.mean(lengths), rel=1e-4)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            (0.15, 0.1, 0.08),
            "centre distance 150 mm is not more than 180 mm, both pitch radii together, so that the pulleys"
            " would overlap: were diameters entered for radii?",
        ),
        (
            (0.08, 0.1, 0.08),
            "centre distance 80 mm is not more than 180 mm, both pitch radii together, so that the pulleys"
            " would overlap: was the centre distance measured to the centres of both pulleys?",
        ),
        ((200, 0.1, 0.08), "centre distance 200 m is longer than 5 m: was it entered in millimetres?"),
        ((0.2, 50, 0.03), "pitch radius 50 m is larger than 0.5 m: was it entered in millimetres?"),
        ((0.2, 0.6, 0.03), "pitch radius 0.6 m is larger than 0.5 m: was it entered in inches?"),
        (
            (0.1, 0.05, 0.048),
            "a span of 19.9 mm between these pulleys is not from 40 to 5000 mm and does not ring like a"
            " string: are centre distance and radii right, and is it meant to run crossing?",
        ),
    ],
)
def test_impossible_pulleys_are_refused_with_the_likely_slip(
    arguments: tuple[float, float, float], message: str
) -> None:
    distance, first, second = arguments
    with pytest.raises(InputError, match=f"^{re.escape(message)}$"):
        span_length_between(Estimate(distance), Estimate(first), Estimate(second), CROSSING)


@pytest.mark.parametrize(
    ("n_teeth", "tooth_pitch_m", "message"),
    [
        (55.5, 0.008, "55.5 teeth of a pulley is not a whole number: was its diameter entered?"),
        (141, 8.0, "tooth pitch 8 m is longer than 0.025 m: was it entered in millimetres?"),
        (4, 0.008, "4 teeth of a pulley is not from 8 to 200"),
    ],
)
def test_impossible_teeth_are_refused(n_teeth: int, tooth_pitch_m: float, message: str) -> None:
    with pytest.raises(InputError, match=re.escape(message)):
        pitch_radius(n_teeth, tooth_pitch_m)


def test_measured_length_is_taken_and_millimetres_are_guessed() -> None:
    assert measured_span_length(Estimate(0.213, 0.0005)) == Estimate(0.213, 0.0005)
    with pytest.raises(InputError, match="was it entered in millimetres"):
        measured_span_length(Estimate(213.0, 0.5))


def test_estimate_knows_a_rectangle_and_refuses_nonsense() -> None:
    assert Estimate.within(0.2, 0.003).standard_uncertainty == pytest.approx(0.0017320508)
    assert Estimate(0.2, 0.002).relative_standard_uncertainty == pytest.approx(0.01)
    with pytest.raises(InputError, match=r"standard uncertainty -0\.1 is negative"):
        Estimate(1.0, -0.1)
    with pytest.raises(InputError, match="is not finite"):
        Estimate(math.nan)
