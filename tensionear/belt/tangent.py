"""Length of one span: measured along the belt, or from the two pulleys that it runs between.

Conventions: radii reach to the belt's pitch line, the middle of its cords, which keeps its length when the
belt bends. A toothed pulley's pitch circle is the number of its teeth times the tooth pitch long, and lies
outside the metal. What does not fit together is told in
millimetres, in which a workshop measures.
"""

import math
from enum import StrEnum

from tensionear.belt.estimate import Estimate, root_sum_of_squares
from tensionear.belt.limits import Limits, Unit
from tensionear.belt.span import SPAN_LENGTH_LIMITS
from tensionear.errors import InputError

_METRE = Unit("m", "metres", 1.0)
_MILLIMETRE = Unit("mm", "millimetres", 1000.0)
_LENGTH_UNITS = (_METRE, _MILLIMETRE, Unit("cm", "centimetres", 100.0), Unit("in", "inches", 1 / 0.0254))

# Sizes of pulleys, centre distances and tooth pitches on engines: common practice, no source.
CENTRE_DISTANCE_LIMITS = Limits(
    quantity="centre distance",
    lowest=0.03,
    highest=5.0,
    usual=0.2,
    units=_LENGTH_UNITS,
    below="shorter",
    above="longer",
)
RADIUS_LIMITS = Limits(
    quantity="pitch radius",
    lowest=0.008,
    highest=0.5,
    usual=0.05,
    units=_LENGTH_UNITS,
    below="smaller",
    above="larger",
    otherwise="was a diameter entered for the radius?",
)
TOOTH_PITCH_LIMITS = Limits(
    quantity="tooth pitch",
    lowest=0.002,
    highest=0.025,
    usual=0.008,
    units=(_METRE, _MILLIMETRE, Unit("in", "inches", 1 / 0.0254)),
    below="shorter",
    above="longer",
)
FEWEST_PULLEY_TEETH = 8
MOST_PULLEY_TEETH = 200


class Course(StrEnum):
    """How a span runs from one pulley to the next."""

    SAME_SIDE = "same side"
    """It passes both on the same side of the line between their centres: both are on the same face of it."""
    CROSSING = "crossing"
    """It crosses that line: one of the two is on its other face, as an idler on its back is."""


def pitch_radius(n_teeth: float, tooth_pitch_m: float) -> Estimate:
    """Radius of a toothed pulley to the belt's pitch line; exact. [m].

    Parameters
    ----------
    n_teeth : whole number, 8 to 200
        The pulley's teeth.
    tooth_pitch_m : float, 0.002 to 0.025
        Distance from one tooth of the belt to the next. [m]

    Raises
    ------
    InputError
        If an argument is outside its range; the message guesses the slip.

    Notes
    -----
    n·p/(2·pi): the pitch circle carries n teeth of pitch p.
    """
    TOOTH_PITCH_LIMITS.checked(tooth_pitch_m, _METRE)
    if n_teeth != round(n_teeth):
        raise InputError(f"{n_teeth:g} teeth of a pulley is not a whole number: was its diameter entered?")
    if not FEWEST_PULLEY_TEETH <= n_teeth <= MOST_PULLEY_TEETH:
        raise InputError(
            f"{n_teeth:g} teeth of a pulley is not from {FEWEST_PULLEY_TEETH} to {MOST_PULLEY_TEETH}:"
            " was its diameter or the belt's number of teeth entered?"
        )
    return Estimate(n_teeth * tooth_pitch_m / (2.0 * math.pi))


def radius_of_diameter(diameter: Estimate) -> Estimate:
    """Half of a pitch diameter and of its standard uncertainty. [m].

    Parameters
    ----------
    diameter : Estimate
        [m]
    """
    return Estimate(diameter.value / 2.0, diameter.standard_uncertainty / 2.0)


def tangent_length(centre_distance: Estimate, first: Estimate, second: Estimate, course: Course) -> Estimate:
    """Length of the common tangent of two pitch circles, however short. [m].

    Parameters
    ----------
    centre_distance : Estimate
        Distance of the pulleys' centres. [m]
    first, second : Estimate
        Radii to the pitch line. [m]
    course : Course
        Same side or crossing.

    Raises
    ------
    InputError
        If the pulleys overlap; the message guesses the slip.

    Notes
    -----
    Pythagoras: C² = L² + s², with s = r1 - r2 on the same side and s = r1 + r2 crossing. To first order the
    uncertainty is (C·u(C), s·u(r1), s·u(r2))/L, the three not hanging together.

    References
    ----------
    .. [1] JCGM 100:2008, 5.1.2 (law of propagation of uncertainty).
    """
    distance, r1, r2 = centre_distance.value, first.value, second.value
    if distance <= r1 + r2:
        raise InputError(_overlap(distance, r1, r2))
    step = r1 - r2 if course is Course.SAME_SIDE else r1 + r2
    length = math.sqrt((distance - step) * (distance + step))
    return Estimate(
        length,
        root_sum_of_squares(
            distance * centre_distance.standard_uncertainty / length,
            step * first.standard_uncertainty / length,
            step * second.standard_uncertainty / length,
        ),
    )


def _overlap(distance: float, r1: float, r2: float) -> str:
    slip = "was the centre distance measured to the centres of both pulleys?"
    if distance > (r1 + r2) / 2.0:
        slip = "were diameters entered for radii?"
    return (
        f"centre distance {1000 * distance:g} mm is not more than {1000 * (r1 + r2):.5g} mm,"
        f" both pitch radii together, so that the pulleys would overlap: {slip}"
    )


def measured_span_length(tangent: Estimate) -> Estimate:
    """Span length measured along the belt, from where it leaves one pulley to where it meets the next. [m].

    Parameters
    ----------
    tangent : Estimate
        0.04 to 5. [m]

    Raises
    ------
    InputError
        If it is outside its range; the message guesses the slip.
    """
    SPAN_LENGTH_LIMITS.checked(tangent.value, _METRE)
    return tangent


def span_length_between(
    centre_distance: Estimate, first: Estimate, second: Estimate, course: Course
) -> Estimate:
    """Length of the span that runs between two pulleys. [m].

    Parameters
    ----------
    centre_distance : Estimate
        0.03 to 5. [m]
    first, second : Estimate
        Radii to the pitch line, 0.008 to 0.5 (`pitch_radius`, `radius_of_diameter`). [m]
    course : Course
        Same side or crossing.

    Raises
    ------
    InputError
        If an argument is outside its range, the pulleys overlap, or the span would be too short or too long
        to ring like a string; the message guesses the slip.
    """
    CENTRE_DISTANCE_LIMITS.checked(centre_distance.value, _METRE)
    for radius in (first, second):
        RADIUS_LIMITS.checked(radius.value, _METRE)
    length = tangent_length(centre_distance, first, second, course)
    lowest, highest = SPAN_LENGTH_LIMITS.lowest, SPAN_LENGTH_LIMITS.highest
    if not lowest <= length.value <= highest:
        raise InputError(
            f"a span of {1000 * length.value:.4g} mm between these pulleys is not from {1000 * lowest:g} to"
            f" {1000 * highest:g} mm and does not ring like a string: are centre distance and radii right,"
            f" and is it meant to run {course}?"
        )
    return length
