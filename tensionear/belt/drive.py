"""A whole belt drive: every span, every wrap angle and the length of the belt, from where its pulleys are.

Conventions: x to the right, y upwards, as someone sees the drive who looks at it. The pulleys are listed as the
belt meets them, and the drive's `sense` is the way round in which that list goes. Pulleys inside the loop touch the
belt's toothed face, those outside its back. Spans, wraps and the belt's length are those of its pitch line.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

import numpy as np

from tensionear.belt.estimate import Estimate, root_sum_of_squares
from tensionear.belt.pulley import Face, Pulley
from tensionear.belt.tangent import Course, tangent_length
from tensionear.errors import InputError

# A belt that only touches a pulley wraps it by 0, and rounding must not turn that into a whole turn.
_TOUCH_RAD = 1e-9


class Sense(StrEnum):
    """Which way round something goes, for someone who looks at the drive."""

    CLOCKWISE = "clockwise"
    ANTICLOCKWISE = "anticlockwise"

    @property
    def other(self) -> "Sense":
        """The other way round."""
        return Sense.ANTICLOCKWISE if self is Sense.CLOCKWISE else Sense.CLOCKWISE


@dataclass(frozen=True)
class DriveSpan:
    """A span of a drive.

    Attributes
    ----------
    leaves, meets : str
        Names of the pulleys that it runs between, in the drive's order.
    start_m, end_m : tuple of float
        Where its pitch line leaves the one and meets the other: x and y. [m]
    span_length : Estimate
        [m]
    course : Course
        Same side or crossing.
    """

    leaves: str
    meets: str
    start_m: tuple[float, float]
    end_m: tuple[float, float]
    span_length: Estimate
    course: Course

    @property
    def direction(self) -> np.ndarray:
        """Unit vector along it, shape (2,). [1]."""
        along = np.subtract(self.end_m, self.start_m)
        return np.asarray(along / np.hypot(*along))


@dataclass(frozen=True)
class BeltDrive:
    """Pulleys and the belt that runs over them.

    Attributes
    ----------
    pulleys : tuple of Pulley
        Two or more, as the belt meets them.
    sense : Sense
        The way round in which they are listed.

    Raises
    ------
    InputError
        If pulleys overlap, or no belt can run over them as said; the message names the pulleys and guesses
        the slip.

    Notes
    -----
    On every pulley the belt turns one way: in the drive's sense on the toothed face, against it on the back.
    All of its turns, counted with their sign, make one whole turn, as those of any closed curve that does not
    cross itself do (Hopf's theorem of turning tangents); where they do not, the belt cannot run that way.
    """

    pulleys: tuple[Pulley, ...]
    sense: Sense

    def __post_init__(self) -> None:
        if len(self.pulleys) < 2:
            raise InputError(f"a drive of {len(self.pulleys)} pulley has no span: was a pulley left out?")
        names = [pulley.name for pulley in self.pulleys]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise InputError(f"two pulleys are called {twice[0]}: call each by a name of its own")
        self._require_apart()
        self._require_one_turn()
        self._require_free_spans()

    @cached_property
    def spans(self) -> tuple[DriveSpan, ...]:
        """Span i runs from pulley i to the next, the last back to the first."""
        n = len(self.pulleys)
        return tuple(self._span(self.pulleys[i], self.pulleys[(i + 1) % n]) for i in range(n))

    @cached_property
    def wrap_angles_rad(self) -> tuple[float, ...]:
        """Angle of the belt round each pulley, 0 to 2·pi. [rad]."""
        wraps = []
        for i, pulley in enumerate(self.pulleys):
            arriving, leaving = self.spans[i - 1].direction, self.spans[i].direction
            cross = arriving[0] * leaving[1] - arriving[1] * leaving[0]
            turn = math.atan2(self.turn(pulley) * cross, float(arriving @ leaving)) % (2.0 * math.pi)
            wraps.append(0.0 if 2.0 * math.pi - turn < _TOUCH_RAD else turn)
        return tuple(wraps)

    @cached_property
    def belt_length(self) -> Estimate:
        """Length of the pitch line: the spans and what lies on the pulleys. [m].

        Notes
        -----
        The belt runs the shortest way, so that its length changes with the place of a pulley by the sum of the
        unit vectors from the pulley along both of its spans, and with a radius by the wrap angle; nothing
        else counts to first order (derived here).
        """
        length_m, contributions = 0.0, []
        for i, (pulley, wrap) in enumerate(zip(self.pulleys, self.wrap_angles_rad, strict=True)):
            length_m += self.spans[i].span_length.value + pulley.pitch_radius_m * wrap
            pull = float(np.hypot(*(self.spans[i - 1].direction - self.spans[i].direction)))
            contributions.append(pull * pulley.centre_standard_uncertainty_m)
            contributions.append(wrap * pulley.radius_standard_uncertainty_m)
        return Estimate(length_m, root_sum_of_squares(*contributions))

    def span_between(self, leaves: str, meets: str) -> DriveSpan:
        """Return the span between two neighbours, named in either order.

        Raises
        ------
        InputError
            If no span runs between them; the message lists those that there are.
        """
        for wanted in ((leaves, meets), (meets, leaves)):
            for span in self.spans:
                if (span.leaves, span.meets) == wanted:
                    return span
        known = ", ".join(f"{span.leaves}–{span.meets}" for span in self.spans)
        raise InputError(f"no span runs between {leaves} and {meets}: the spans are {known}")

    def turn(self, pulley: Pulley) -> int:
        """Which way the belt turns on a pulley: 1 anticlockwise, -1 clockwise."""
        forward = 1 if self.sense is Sense.ANTICLOCKWISE else -1
        return forward if pulley.face is Face.TOOTHED else -forward

    def _span(self, leaves: Pulley, meets: Pulley) -> DriveSpan:
        between = meets.centre_m - leaves.centre_m
        course = Course.SAME_SIDE if leaves.face is meets.face else Course.CROSSING
        length = tangent_length(
            Estimate(
                float(np.hypot(*between)),
                root_sum_of_squares(
                    leaves.centre_standard_uncertainty_m, meets.centre_standard_uncertainty_m
                ),
            ),
            Estimate(leaves.pitch_radius_m, leaves.radius_standard_uncertainty_m),
            Estimate(meets.pitch_radius_m, meets.radius_standard_uncertainty_m),
            course,
        )
        # The way between the centres is a span along and a step across; the unit vector along follows from
        # turning it by the angle between them.
        across = self.turn(meets) * meets.pitch_radius_m - self.turn(leaves) * leaves.pitch_radius_m
        left = np.array([-between[1], between[0]])
        along = (length.value * between - across * left) / (between @ between)
        to_left = np.array([-along[1], along[0]])
        start = leaves.centre_m - self.turn(leaves) * leaves.pitch_radius_m * to_left
        end = meets.centre_m - self.turn(meets) * meets.pitch_radius_m * to_left
        return DriveSpan(
            leaves.name,
            meets.name,
            (float(start[0]), float(start[1])),
            (float(end[0]), float(end[1])),
            length,
            course,
        )

    def _require_apart(self) -> None:
        n = len(self.pulleys)
        for i, one in enumerate(self.pulleys):
            for j in range(i + 1, n):
                other = self.pulleys[j]
                distance = float(np.hypot(*(other.centre_m - one.centre_m)))
                # The belt lies between neighbours; others may come closer than their pitch lines.
                neighbours = j - i in (1, n - 1)
                radii = (
                    one.pitch_radius_m + other.pitch_radius_m
                    if neighbours
                    else one.surface_radius_m + other.surface_radius_m
                )
                if distance <= radii:
                    raise InputError(
                        f"{one.name} and {other.name} overlap: their centres are {1000 * distance:.5g} mm apart,"
                        f" their radii are {1000 * radii:.5g} mm together:"
                        " were diameters entered for radii, or a coordinate with the wrong sign?"
                    )

    def _require_one_turn(self) -> None:
        turned = sum(
            self.turn(pulley) * wrap for pulley, wrap in zip(self.pulleys, self.wrap_angles_rad, strict=True)
        )
        forward = 1 if self.sense is Sense.ANTICLOCKWISE else -1
        if abs(forward * turned - 2.0 * math.pi) < 1e-6:
            return
        twice_the_area = sum(
            one.x_m * other.y_m - other.x_m * one.y_m
            for one, other in zip(self.pulleys, self.pulleys[1:] + self.pulleys[:1], strict=True)
        )
        if twice_the_area * forward < 0:
            raise InputError(
                f"the belt cannot run {self.sense} over the pulleys in this order:"
                f" are they listed {self.sense.other}?"
            )
        widest = max(range(len(self.pulleys)), key=self.wrap_angles_rad.__getitem__)
        pulley = self.pulleys[widest]
        other_face = Face.BACK if pulley.face is Face.TOOTHED else Face.TOOTHED
        raise InputError(
            f"the belt cannot run that way: it would have to turn by"
            f" {math.degrees(self.wrap_angles_rad[widest]):.0f} degrees round {pulley.name}: does {pulley.name} not"
            f" reach the belt there, does it touch its {other_face} face, is a coordinate wrong, or the order of"
            " the pulleys?"
        )

    def _require_free_spans(self) -> None:
        for i, span in enumerate(self.spans):
            for pulley in self.pulleys:
                if pulley.name in (span.leaves, span.meets):
                    continue
                clear = _distance_to_span(pulley.centre_m, span)
                if clear < pulley.surface_radius_m:
                    raise InputError(
                        f"the span from {span.leaves} to {span.meets} would run through {pulley.name}, whose"
                        f" centre is {1000 * clear:.4g} mm from it: is the order of the pulleys right, or does"
                        f" the belt touch {pulley.name} with its other face?"
                    )
            for crossed in self.spans[i + 1 :]:
                if _cross(span, crossed):
                    raise InputError(
                        f"the span from {span.leaves} to {span.meets} would cross that from {crossed.leaves} to"
                        f" {crossed.meets}: is the order of the pulleys right?"
                    )


def _distance_to_span(point_m: np.ndarray, span: DriveSpan) -> float:
    from_start = point_m - np.array(span.start_m)
    along = float(np.clip(from_start @ span.direction, 0.0, span.span_length.value))
    return float(np.hypot(*(from_start - along * span.direction)))


def _cross(one: DriveSpan, other: DriveSpan) -> bool:
    """Whether the ends of each lie on both sides of the other."""

    def side(of: DriveSpan, point_m: tuple[float, float]) -> float:
        x, y = np.subtract(point_m, of.start_m)
        return float(of.direction[0] * y - of.direction[1] * x)

    return (
        side(one, other.start_m) * side(one, other.end_m) < 0
        and side(other, one.start_m) * side(other, one.end_m) < 0
    )
