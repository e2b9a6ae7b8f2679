"""A drive's belt length against that of the belt itself: whether pulleys and belt are described rightly."""

import math
from dataclasses import dataclass, replace

from tensionear.belt.drive import BeltDrive
from tensionear.belt.estimate import root_sum_of_squares
from tensionear.belt.limits import Unit
from tensionear.belt.pulley import Face, Pulley
from tensionear.belt.tangent import TOOTH_PITCH_LIMITS
from tensionear.errors import InputError

# Teeth of timing belts on engines: common practice, no source.
FEWEST_BELT_TEETH = 30
MOST_BELT_TEETH = 500
# How far a belt of the right number of teeth may be from its nominal length, new and under tension, as a standard
# uncertainty: common practice, no source.
_BELT_LENGTH_RELATIVE_STANDARD_UNCERTAINTY = 0.0005
_COVERAGE_FACTOR = 2.0
_MOST_LIKELY_NAMED = 3


@dataclass(frozen=True)
class BeltLengthCheck:
    """What the length of the belt says of a drive as it was described.

    Attributes
    ----------
    drive_length_m : float
        Length of the belt by the pulleys' places. [m]
    belt_length_m : float
        Length of the belt by its teeth. [m]
    difference_m : float
        The first less the second. [m]
    difference_teeth : float
        The same in tooth pitches. [1]
    permitted_difference_m : float
        Up to here, either way, they agree: twice the combined standard uncertainty. [m]
    agrees : bool
        Whether they do.
    explanation : str
        All that in a sentence, with the likely slips if they do not agree.
    """

    drive_length_m: float
    belt_length_m: float
    difference_m: float
    difference_teeth: float
    permitted_difference_m: float
    agrees: bool
    explanation: str


def belt_length(n_belt_teeth: float, tooth_pitch_m: float) -> float:
    """Length of a belt's pitch line by its teeth. [m].

    Parameters
    ----------
    n_belt_teeth : whole number, 30 to 500
        The belt's teeth.
    tooth_pitch_m : float, 0.002 to 0.025
        Distance from one tooth to the next. [m]

    Raises
    ------
    InputError
        If an argument is outside its range; the message guesses the slip.
    """
    TOOTH_PITCH_LIMITS.checked(tooth_pitch_m, Unit("m", "metres", 1.0))
    if not (
        FEWEST_BELT_TEETH <= n_belt_teeth <= MOST_BELT_TEETH
        and math.isclose(n_belt_teeth, round(n_belt_teeth))
    ):
        raise InputError(
            f"{n_belt_teeth:g} teeth of the belt is not a whole number from {FEWEST_BELT_TEETH} to"
            f" {MOST_BELT_TEETH}: was its length, or a pulley's number of teeth, entered?"
        )
    return n_belt_teeth * tooth_pitch_m


def check_belt_length(drive: BeltDrive, n_belt_teeth: float, tooth_pitch_m: float) -> BeltLengthCheck:
    """Compare the belt length of a drive with the number of teeth times the tooth pitch.

    Parameters
    ----------
    drive : BeltDrive
        As described.
    n_belt_teeth : whole number, 30 to 500
        The belt's teeth.
    tooth_pitch_m : float, 0.002 to 0.025
        Distance from one tooth to the next. [m]

    Raises
    ------
    InputError
        If the teeth or their pitch are outside their range; the message guesses the slip.
    """
    belt_length_m = belt_length(n_belt_teeth, tooth_pitch_m)
    found = drive.belt_length
    difference_m = found.value - belt_length_m
    permitted_m = _COVERAGE_FACTOR * root_sum_of_squares(
        found.standard_uncertainty, _BELT_LENGTH_RELATIVE_STANDARD_UNCERTAINTY * belt_length_m
    )
    agrees = abs(difference_m) <= permitted_m
    said = (
        f"the pulleys give a belt length of {1000 * found.value:.1f} mm, the belt's {n_belt_teeth:.0f} teeth"
        f" {1000 * belt_length_m:.1f} mm:"
    )
    if agrees:
        said += f" they agree within {1000 * permitted_m:.1f} mm"
    else:
        slips = _likely_slips(drive, belt_length_m, permitted_m) or [
            _unexplained(difference_m, belt_length_m)
        ]
        said += (
            f" {1000 * abs(difference_m):.1f} mm too {'long' if difference_m > 0 else 'short'}"
            f" ({abs(difference_m) / tooth_pitch_m:.1f} teeth), where {1000 * permitted_m:.1f} mm would be"
            f" permitted: {'; or '.join(slips)}?"
        )
    return BeltLengthCheck(
        drive_length_m=found.value,
        belt_length_m=belt_length_m,
        difference_m=difference_m,
        difference_teeth=difference_m / tooth_pitch_m,
        permitted_difference_m=permitted_m,
        agrees=agrees,
        explanation=said,
    )


def _unexplained(difference_m: float, belt_length_m: float) -> str:
    if abs(difference_m) < 0.03 * belt_length_m:
        return "is a tensioner in another place, a coordinate a few millimetres off, or a tooth miscounted"
    return "is a pulley missing, a coordinate wrong, or is it the belt of another drive"


def _likely_slips(drive: BeltDrive, belt_length_m: float, permitted_m: float) -> list[str]:
    """Single slips that would explain the difference, the best first."""
    explained: list[tuple[float, str]] = []
    for i, pulley in enumerate(drive.pulleys):
        for slip, meant in _slips_of(pulley):
            try:
                mended = replace(drive, pulleys=(*drive.pulleys[:i], meant, *drive.pulleys[i + 1 :]))
            except InputError:
                continue  # what no belt could run over was not meant
            left_m = abs(mended.belt_length.value - belt_length_m)
            if left_m <= permitted_m:
                explained.append((left_m, slip))
    return [slip for _, slip in sorted(explained)[:_MOST_LIKELY_NAMED]]


def _slips_of(pulley: Pulley) -> list[tuple[str, Pulley]]:
    """What may have been entered wrongly of a pulley, and the pulley that was then meant."""
    name = pulley.name
    other_face = Face.BACK if pulley.face is Face.TOOTHED else Face.TOOTHED
    meant: list[tuple[str, dict[str, object]]] = [
        (f"does the belt touch {name} with its {other_face} face", {"face": other_face}),
        (
            f"was the diameter of {name} entered for its radius",
            {"surface_radius_m": pulley.surface_radius_m / 2.0},
        ),
        (
            f"was the radius of {name} entered for its diameter",
            {"surface_radius_m": pulley.surface_radius_m * 2.0},
        ),
        (f"has x of {name} the wrong sign", {"x_m": -pulley.x_m}),
        (f"has y of {name} the wrong sign", {"y_m": -pulley.y_m}),
        (f"were x and y of {name} exchanged", {"x_m": pulley.y_m, "y_m": pulley.x_m}),
    ]
    pulleys = []
    for slip, changes in meant:
        try:
            pulleys.append((slip, replace(pulley, **changes)))  # type: ignore[arg-type]
        except InputError:
            continue  # a pulley that cannot be was not meant
    return pulleys
