import math
import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tensionear.belt.drive import BeltDrive, Sense
from tensionear.belt.estimate import Estimate
from tensionear.belt.pulley import Face, Pulley
from tensionear.belt.tangent import Course
from tensionear.errors import InputError

ANTICLOCKWISE, CLOCKWISE = Sense.ANTICLOCKWISE, Sense.CLOCKWISE


def pulley(
    name: str,
    x_m: float,
    y_m: float,
    radius_m: float,
    face: Face = Face.TOOTHED,
    centre_standard_uncertainty_m: float = 0.0,
) -> Pulley:
    return Pulley.smooth(name, x_m, y_m, Estimate(radius_m), 0.0, face, centre_standard_uncertainty_m)


def with_idler(face: Face = Face.BACK, x_m: float = 0.09) -> BeltDrive:
    """Two wheels above a crank, with an idler on the right that presses inwards."""
    return BeltDrive(
        (
            pulley("crank", 0.0, 0.0, 0.03),
            pulley("idler", x_m, 0.15, 0.025, face),
            pulley("right cam", 0.09, 0.35, 0.055),
            pulley("left cam", -0.06, 0.35, 0.055),
        ),
        ANTICLOCKWISE,
    )


@pytest.mark.parametrize("sense", Sense)
def test_two_equal_pulleys_have_their_distance_twice_and_one_circumference(sense: Sense) -> None:
    drive = BeltDrive((pulley("a", 0.0, 0.0, 0.05), pulley("b", 0.12, 0.16, 0.05)), sense)
    assert [span.span_length.value for span in drive.spans] == pytest.approx([0.2, 0.2])
    assert drive.wrap_angles_rad == pytest.approx((math.pi, math.pi))
    assert drive.belt_length.value == pytest.approx(0.4 + 2 * math.pi * 0.05)


def test_two_pulleys_have_the_length_of_the_handbooks() -> None:
    # Open belt of machine-element textbooks, from memory:
    # L = 2 sqrt(C² - (R - r)²) + pi (R + r) + 2 (R - r) asin((R - r)/C).
    c, big, small = 0.3, 0.08, 0.03
    drive = BeltDrive((pulley("a", 0.0, 0.0, big), pulley("b", c, 0.0, small)), ANTICLOCKWISE)
    tilt = math.asin((big - small) / c)
    length = 2 * math.sqrt(c**2 - (big - small) ** 2) + math.pi * (big + small) + 2 * (big - small) * tilt
    assert drive.belt_length.value == pytest.approx(length)
    assert drive.wrap_angles_rad == pytest.approx((math.pi + 2 * tilt, math.pi - 2 * tilt))


def test_equal_pulleys_on_a_right_angled_triangle_have_its_sides_and_one_circumference() -> None:
    corners = [(0.0, 0.0), (0.3, 0.0), (0.0, 0.4)]
    drive = BeltDrive(tuple(pulley(f"{x} {y}", x, y, 0.05) for x, y in corners), ANTICLOCKWISE)
    assert [span.span_length.value for span in drive.spans] == pytest.approx([0.3, 0.5, 0.4])
    assert drive.belt_length.value == pytest.approx(1.2 + 2 * math.pi * 0.05)
    outer_angles = (math.pi / 2, math.pi - math.atan2(4, 3), math.pi - math.atan2(3, 4))
    assert drive.wrap_angles_rad == pytest.approx(outer_angles)


def test_spans_to_a_back_side_idler_have_the_length_of_the_crossed_belt() -> None:
    # Inner tangent of two circles, sqrt(C² - (r1 + r2)²): crossed belt of machine-element textbooks, from memory.
    drive = with_idler()
    for name, x_m, y_m, radius_m in (("crank", 0.0, 0.0, 0.03), ("right cam", 0.09, 0.35, 0.055)):
        span = drive.span_between("idler", name)
        distance = math.hypot(x_m - 0.09, y_m - 0.15)
        assert span.course is Course.CROSSING
        assert span.span_length.value == pytest.approx(math.sqrt(distance**2 - (radius_m + 0.025) ** 2))


def test_symmetric_drive_with_an_idler_below_is_as_long_as_by_hand() -> None:
    # Derived here: wheels of radius R at ±c, the idler of radius r pressed in from below at depth h. The inner
    # tangent leans from the line of the centres by asin((R + r)/D), that line from the level by atan(h/c).
    c, h, big, small = 0.15, 0.02, 0.05, 0.03
    drive = BeltDrive(
        (
            pulley("left", -c, 0.0, big),
            pulley("idler", 0.0, -h - small, small, Face.BACK),
            pulley("right", c, 0.0, big),
        ),
        ANTICLOCKWISE,
    )
    distance = math.hypot(c, h + small)
    lean = math.asin((big + small) / distance) - math.atan2(h + small, c)
    length = 2 * math.sqrt(distance**2 - (big + small) ** 2) + 2 * c
    length += small * 2 * lean + big * 2 * (math.pi + lean)
    assert drive.wrap_angles_rad == pytest.approx((math.pi + lean, 2 * lean, math.pi + lean))
    assert drive.belt_length.value == pytest.approx(length)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(2, 7), st.integers(0, 2**32 - 1))
def test_belt_round_the_outside_is_as_long_as_the_hull_of_its_circles(n_pulleys: int, seed: int) -> None:
    # Independent check: Shapely's convex hull of the buffered centres (GEOS), whose polygons of 4 x 2048 sides are
    # shorter than circles by 1e-7. Centres on an ellipse, so that every pulley touches the hull.
    draw = np.random.default_rng(seed)
    angles = np.linspace(0, 2 * np.pi, n_pulleys, endpoint=False) + draw.uniform(0, 0.3, n_pulleys)
    radii = draw.uniform(0.04, 0.05, n_pulleys)
    pulleys = tuple(
        pulley(f"pulley {i}", 0.5 * math.cos(a), 0.4 * math.sin(a), r)
        for i, (a, r) in enumerate(zip(angles, radii, strict=True))
    )
    circles = [shapely.Point(p.x_m, p.y_m).buffer(p.pitch_radius_m, quad_segs=2048) for p in pulleys]
    perimeter = shapely.convex_hull(shapely.union_all(circles)).length
    anticlockwise = BeltDrive(pulleys, ANTICLOCKWISE)
    clockwise = BeltDrive(pulleys[::-1], CLOCKWISE)
    assert anticlockwise.belt_length.value == pytest.approx(perimeter, rel=1e-6)
    assert clockwise.belt_length.value == pytest.approx(perimeter, rel=1e-6)
    assert sum(anticlockwise.wrap_angles_rad) == pytest.approx(2 * math.pi)


def pitch_line(drive: BeltDrive) -> shapely.LinearRing:
    """Points along spans and wraps, the wraps walked as the drive says."""
    points: list[np.ndarray] = []
    for i, wheel in enumerate(drive.pulleys):
        x, y = np.subtract(drive.spans[i - 1].end_m, wheel.centre_m)
        start = math.atan2(y, x)
        angles = start + drive.turn(wheel) * np.linspace(0, drive.wrap_angles_rad[i], 500)
        round_it = wheel.pitch_radius_m * np.column_stack([np.cos(angles), np.sin(angles)])
        points.extend(wheel.centre_m + round_it)
    return shapely.LinearRing(points)


def test_pitch_line_walked_over_an_idler_closes_is_as_long_and_keeps_the_right_pulleys_inside() -> None:
    drive = with_idler()
    ring = pitch_line(drive)
    assert ring.is_simple
    assert ring.length == pytest.approx(drive.belt_length.value, rel=1e-5)
    loop = shapely.Polygon(ring)
    inside = [loop.contains(shapely.Point(p.x_m, p.y_m)) for p in drive.pulleys]
    assert inside == [True, False, True, True]
    touching = [ring.distance(shapely.Point(p.x_m, p.y_m)) for p in drive.pulleys]
    assert touching == pytest.approx([p.pitch_radius_m for p in drive.pulleys], rel=1e-5)


def test_every_drive_at_random_that_is_taken_can_be_run() -> None:
    # Shapely (GEOS) finds the pitch line free of crossings, as long as computed, with the pulleys of the toothed
    # face inside and those of the back outside.
    draw = np.random.default_rng(1)
    n_taken = 0
    for _ in range(400):
        n = int(draw.integers(3, 7))
        angles, far = np.sort(draw.uniform(0, 2 * np.pi, n)), draw.uniform(0.05, 0.4, n)
        centres = np.column_stack([far * np.cos(angles), far * np.sin(angles)])
        faces = [Face.BACK if back else Face.TOOTHED for back in draw.random(n) < 0.35]
        radii = draw.uniform(0.015, 0.07, n)
        try:
            drive = BeltDrive(
                tuple(pulley(str(i), centres[i, 0], centres[i, 1], radii[i], faces[i]) for i in range(n)),
                ANTICLOCKWISE,
            )
        except InputError:
            continue
        n_taken += 1
        ring = pitch_line(drive)
        assert ring.is_valid
        assert ring.length == pytest.approx(drive.belt_length.value, rel=1e-5)
        loop = shapely.Polygon(ring)
        for wheel in drive.pulleys:
            assert loop.contains(shapely.Point(wheel.x_m, wheel.y_m)) is (wheel.face is Face.TOOTHED)
    assert n_taken > 25


def test_drive_seen_from_behind_is_the_same() -> None:
    drive = with_idler()
    mirrored = BeltDrive(tuple(replace(p, x_m=-p.x_m) for p in drive.pulleys), CLOCKWISE)
    assert mirrored.belt_length.value == pytest.approx(drive.belt_length.value)
    assert mirrored.wrap_angles_rad == pytest.approx(drive.wrap_angles_rad)


def test_pitch_line_lies_outside_a_back_side_pulley_by_the_cord_depth() -> None:
    idler = Pulley.smooth("idler", 0.0, 0.0, Estimate(0.03, 0.0001), 0.0025)
    assert idler.pitch_radius_m == pytest.approx(0.0325)
    assert idler.face is Face.BACK
    assert idler.radius_standard_uncertainty_m == 0.0001


def test_toothed_pulley_is_as_long_round_as_its_teeth() -> None:
    crank = Pulley.toothed("crank", 0.0, 0.0, 22, 0.008, 0.0005)
    assert 2 * math.pi * crank.pitch_radius_m == pytest.approx(0.176)
    assert crank.face is Face.TOOTHED


def test_uncertainties_are_those_of_centres_and_radii_drawn_at_random() -> None:
    drive = BeltDrive(
        tuple(
            replace(p, centre_standard_uncertainty_m=0.0005, radius_standard_uncertainty_m=0.0002)
            for p in with_idler().pulleys
        ),
        ANTICLOCKWISE,
    )
    draw = np.random.default_rng(7)
    lengths, spans = [], []
    for _ in range(1500):
        moved = BeltDrive(
            tuple(
                replace(
                    p,
                    x_m=p.x_m + draw.normal(0, 0.0005),
                    y_m=p.y_m + draw.normal(0, 0.0005),
                    surface_radius_m=p.surface_radius_m + draw.normal(0, 0.0002),
                )
                for p in drive.pulleys
            ),
            ANTICLOCKWISE,
        )
        lengths.append(moved.belt_length.value)
        spans.append([span.span_length.value for span in moved.spans])
    assert drive.belt_length.standard_uncertainty == pytest.approx(np.std(lengths), rel=0.08)
    computed = [span.span_length.standard_uncertainty for span in drive.spans]
    assert computed == pytest.approx(np.std(spans, axis=0), rel=0.08)


@pytest.mark.parametrize(
    ("pulleys", "message"),
    [
        ([pulley("a", 0, 0, 0.05)], "a drive of 1 pulley has no span: was a pulley left out?"),
        (
            [pulley("a", 0, 0, 0.05), pulley("a", 0.2, 0, 0.05)],
            "two pulleys are called a: call each by a name of its own",
        ),
        (
            [pulley("crank", 0, 0, 0.06), pulley("cam", 0.1, 0, 0.05)],
            "crank and cam overlap: their centres are 100 mm apart, their radii are 110 mm together:"
            " were diameters entered for radii, or a coordinate with the wrong sign?",
        ),
        (
            [pulley("a", 0, 0, 0.05), pulley("b", 0, 0.4, 0.05), pulley("c", 0.3, 0, 0.05)],
            "the belt cannot run anticlockwise over the pulleys in this order: are they listed clockwise?",
        ),
        (
            [
                pulley("crank", 0, 0, 0.03),
                pulley("idler", 0.05, 0.15, 0.02),
                pulley("right cam", 0.2, 0.35, 0.05),
                pulley("left cam", -0.1, 0.35, 0.05),
            ],
            "the belt cannot run that way: it would have to turn by 331 degrees round idler: does idler not reach"
            " the belt there, does it touch its back face, is a coordinate wrong, or the order of the pulleys?",
        ),
    ],
)
def test_drive_over_which_no_belt_can_run_is_refused(pulleys: list[Pulley], message: str) -> None:
    with pytest.raises(InputError, match=re.escape(message)):
        BeltDrive(tuple(pulleys), ANTICLOCKWISE)


@pytest.mark.parametrize(
    ("y_m", "message"),
    [
        (-0.03, "the span from a to b would run through idler, whose centre is 20 mm from it: is the order"),
        (-0.2, "the span from a to b would cross that from d to idler: is the order of the pulleys right?"),
    ],
)
def test_span_that_would_run_through_a_pulley_or_another_span_is_refused(y_m: float, message: str) -> None:
    with pytest.raises(InputError, match=re.escape(message)):
        BeltDrive(
            (
                pulley("a", 0.0, 0.0, 0.05),
                pulley("b", 0.4, 0.0, 0.05),
                pulley("d", 0.4, 0.3, 0.05),
                pulley("idler", 0.2, y_m, 0.05, Face.BACK),
                pulley("e", 0.0, 0.3, 0.05),
            ),
            ANTICLOCKWISE,
        )


@pytest.mark.parametrize(
    ("values", "message"),
    [
        (
            (0.0, 0.0, Estimate(50.0), 0.0),
            "tensioner: pitch radius 50 m is larger than 0.5 m: was it entered in",
        ),
        (
            (250.0, 0.0, Estimate(0.05), 0.0),
            "tensioner: centre at 250 m is farther than 10 m from the origin",
        ),
        (
            (0.0, 0.0, Estimate(0.05), 0.3),
            "tensioner: 0.3 m from surface to pitch line is not from 0 to 0.02 m",
        ),
        ((math.nan, 0.0, Estimate(0.05), 0.0), "tensioner: nan with standard uncertainty 0 is not finite"),
    ],
)
def test_impossible_pulley_is_refused_by_its_name(
    values: tuple[float, float, Estimate, float], message: str
) -> None:
    with pytest.raises(InputError, match=re.escape(message)):
        Pulley.smooth("tensioner", *values)


def test_toothed_pulley_of_impossible_teeth_is_refused_by_its_name() -> None:
    with pytest.raises(InputError, match=r"crank: 22\.5 teeth of a pulley is not a whole number"):
        Pulley.toothed("crank", 0.0, 0.0, 22.5, 0.008)


def test_span_is_found_by_its_pulleys_in_either_order() -> None:
    drive = with_idler()
    assert (
        drive.span_between("crank", "left cam") is drive.span_between("left cam", "crank") is drive.spans[3]
    )
    with pytest.raises(
        InputError, match="no span runs between crank and right cam: the spans are crank–idler"
    ):
        drive.span_between("crank", "right cam")
