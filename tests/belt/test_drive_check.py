import math
from dataclasses import replace

import pytest

from tensionear.belt.drive import BeltDrive, Sense
from tensionear.belt.drive_check import belt_length, check_belt_length
from tensionear.belt.estimate import Estimate
from tensionear.belt.pulley import Face, Pulley
from tensionear.errors import InputError

PITCH_M = 0.008
CRANK_AND_CAM = [("crank", 0.0, 0.0), ("cam", -0.05, 0.25)]


def drive() -> BeltDrive:
    """Three pulleys; of 20, 40 teeth and an idler on the back, invented."""
    return BeltDrive(
        (
            Pulley.toothed("crank", 0.0, 0.0, 20, PITCH_M, 0.0003),
            Pulley.smooth("idler", 0.04, 0.1, Estimate(0.02), 0.002, Face.BACK, 0.0003),
            Pulley.toothed("cam", 0.0, 0.25, 40, PITCH_M, 0.0003),
        ),
        Sense.ANTICLOCKWISE,
    )


def test_two_equal_pulleys_of_whole_teeth_agree_with_their_belt() -> None:
    # Two pulleys of 30 teeth, 20 pitches apart: 30 + 2 x 20 teeth.
    pair = BeltDrive(
        (Pulley.toothed("a", 0.0, 0.0, 30, PITCH_M), Pulley.toothed("b", 0.0, 20 * PITCH_M, 30, PITCH_M)),
        Sense.CLOCKWISE,
    )
    check = check_belt_length(pair, 70, PITCH_M)
    assert check.agrees
    assert check.difference_m == pytest.approx(0.0, abs=1e-12)
    assert check.explanation == (
        "the pulleys give a belt length of 560.0 mm, the belt's 70 teeth 560.0 mm: they agree within 0.6 mm"
    )


def test_difference_is_told_in_millimetres_and_teeth() -> None:
    pair = BeltDrive(
        (Pulley.toothed("a", 0.0, 0.0, 30, PITCH_M), Pulley.toothed("b", 0.0, 20 * PITCH_M, 30, PITCH_M)),
        Sense.CLOCKWISE,
    )
    check = check_belt_length(pair, 71, PITCH_M)
    assert not check.agrees
    assert check.difference_m == pytest.approx(-0.008)
    assert check.difference_teeth == pytest.approx(-1.0)
    assert "8.0 mm too short (1.0 teeth), where 0.6 mm would be permitted" in check.explanation
    assert check.explanation.endswith("a coordinate a few millimetres off, or a tooth miscounted?")


@pytest.mark.parametrize(
    ("wrong", "slip"),
    [
        ({"surface_radius_m": 0.04}, "was the diameter of idler entered for its radius"),
        ({"surface_radius_m": 0.01}, "was the radius of idler entered for its diameter"),
        ({"face": Face.TOOTHED}, "does the belt touch idler with its back face"),
    ],
)
def test_a_single_slip_is_named(wrong: dict[str, object], slip: str) -> None:
    right = drive()
    n_teeth = right.belt_length.value / PITCH_M
    as_entered = replace(right.pulleys[1], **wrong)  # type: ignore[arg-type]
    entered = replace(right, pulleys=(right.pulleys[0], as_entered, right.pulleys[2]))
    pitch_m = right.belt_length.value / round(n_teeth)  # so that the right drive fits exactly
    check = check_belt_length(entered, round(n_teeth), pitch_m)
    assert not check.agrees
    assert slip in check.explanation


def test_wrong_sign_of_a_coordinate_is_named() -> None:
    guide = Pulley.smooth("guide", 0.08, 0.1, Estimate(0.02), 0.004, Face.TOOTHED)
    crank, cam = (Pulley.toothed(name, x_m, y_m, 20, PITCH_M) for name, x_m, y_m in CRANK_AND_CAM)
    right = BeltDrive((crank, guide, cam), Sense.ANTICLOCKWISE)
    entered = BeltDrive((crank, guide, replace(cam, x_m=-cam.x_m)), Sense.ANTICLOCKWISE)
    pitch_m = right.belt_length.value / 85
    assert "has x of cam the wrong sign" in check_belt_length(entered, 85, pitch_m).explanation


def test_large_difference_that_nothing_explains_asks_for_the_belt() -> None:
    assert check_belt_length(drive(), 300, PITCH_M).explanation.endswith("is it the belt of another drive?")


@pytest.mark.parametrize("n_teeth", [120.5, 12, 1120, math.nan])
def test_impossible_number_of_belt_teeth_is_refused(n_teeth: float) -> None:
    with pytest.raises(InputError, match="is not a whole number from 30 to 500"):
        belt_length(n_teeth, PITCH_M)
