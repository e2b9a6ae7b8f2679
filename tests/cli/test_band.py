"""``tensionear band``: each form of a specification, by hand."""

import math

import pytest

from tensionear.belt.stiff_span import partial_frequency
from tests.cli.command import Tensionear

SPAN = ("--span-length-mm", 213, "--linear-density-g-per-m", 165)
STIFF = ("--bending-stiffness-n-m2", 0.045, "--ends", "clamped")
SOURCE = ("--source", "invented manual, page 12")


def hertz(tension_n: float) -> float:
    """Fundamental of the flexible span, sqrt(T/m)/(2·L)."""
    return math.sqrt(tension_n / 0.165) / (2 * 0.213)


def test_newtons_as_a_force_become_the_hertz_at_which_the_stiff_span_rings(tensionear: Tensionear) -> None:
    told = tensionear("band", "--band-n", 380, 460, "--method", "force", *SPAN, *STIFF, *SOURCE, "--json")
    assert told.code == 0
    (band,) = told.of_kind("band")
    assert (band["lower"], band["upper"], band["unit"]) == (380, 460, "N")
    assert band["quantity"] == "stiffness-corrected tension"
    assert "Source: invented manual, page 12." in band["sentence"]
    lower, upper = told.of_kind("band_limit")
    assert lower["fundamental_hz"] == pytest.approx(partial_frequency(380.0, 0.213, 0.165, 0.045, 1.0))
    assert upper["fundamental_hz"] == pytest.approx(partial_frequency(460.0, 0.213, 0.165, 0.045, 1.0))
    assert lower["flexible_tension_n"] == pytest.approx(380.0 * (lower["fundamental_hz"] / hertz(380.0)) ** 2)


def test_newtons_of_a_vibration_keep_the_constants_that_stand_beside_them(tensionear: Tensionear) -> None:
    told = tensionear(
        "band", "--band-n", 380, 460, "--method", "vibration", "--stated-span-length-mm", 210,
        "--stated-linear-density-g-per-m", 160, *SPAN, *STIFF, *SOURCE, "--json",
    )  # fmt: skip
    (band,) = told.of_kind("band")
    assert band["quantity"] == "tension of a flexible span"
    assert band["constants_span_length_m"] == pytest.approx(0.210)
    lower, upper = told.of_kind("band_limit")
    assert lower["fundamental_hz"] == pytest.approx(math.sqrt(380 / 0.160) / (2 * 0.210))
    assert upper["flexible_tension_n"] == 460
    # The stiff span holds less force when it rings so.
    assert lower["tension_n"] < 0.85 * 380


def test_hertz_need_neither_span_nor_belt(tensionear: Tensionear) -> None:
    told = tensionear("band", "--band-hz", 110, 122, *SOURCE)
    assert told.code == 0
    assert "110 Hz" in told.out
    assert "compared" in told.out
    assert "Only what needs no span is told" in told.out


def test_hertz_on_another_span_length_are_converted_by_the_ratio_of_lengths(tensionear: Tensionear) -> None:
    told = tensionear("band", "--band-hz", 110, 122, "--stated-span-length-mm", 230, *SPAN, *SOURCE, "--json")
    (band,) = told.of_kind("band")
    assert band["lower"] == pytest.approx(110 * 230 / 213)
    assert band["upper"] == pytest.approx(122 * 230 / 213)
    assert band["limits_relative_standard_uncertainty"] == pytest.approx(1 / math.sqrt(3) / 213)


@pytest.mark.parametrize(
    "stated",
    [
        ("--band-n", 378, 462),
        ("--nominal-n", 420, "--tolerance-n", 42),
        ("--nominal-n", 420, "--tolerance-percent", 10),
        ("--band-lbf", 378 / 4.4482216, 462 / 4.4482216),
        ("--nominal-lbf", 420 / 4.4482216, "--tolerance-n", 42),
    ],
)
def test_one_band_in_five_forms_is_one_band(stated: tuple[object, ...], tensionear: Tensionear) -> None:
    told = tensionear("band", *stated, "--method", "force", *SPAN, "--flexible", *SOURCE, "--json")
    (band,) = told.of_kind("band")
    assert (band["lower"], band["upper"]) == (pytest.approx(378), pytest.approx(462))
    lower, upper = told.of_kind("band_limit")
    assert lower["fundamental_hz"] == pytest.approx(hertz(378))
    assert upper["fundamental_hz"] == pytest.approx(hertz(462))


def test_push_is_compared_as_the_frequency_of_the_tension_that_gives_so(tensionear: Tensionear) -> None:
    # T = F·L/(4·d): 20 N give 2.2 to 2.8 mm.
    told = tensionear(
        "band", "--push-force-n", 20, "--push-deflection-mm", 2.2, "--push-deflection-mm", 2.8, *SPAN, *SOURCE,
        "--json",
    )  # fmt: skip
    (band,) = told.of_kind("band")
    assert band["quantity"] == "fundamental frequency"
    assert band["lower"] == pytest.approx(hertz(20 * 0.213 / (4 * 0.0028)))
    assert band["upper"] == pytest.approx(hertz(20 * 0.213 / (4 * 0.0022)))


def test_value_without_tolerance_gives_no_verdict_and_says_so(tensionear: Tensionear) -> None:
    told = tensionear("band", "--nominal-n", 420, "--method", "force", *SPAN, *SOURCE, "--json")
    (band,) = told.of_kind("band")
    assert (band["lower"], band["upper"], band["single_value"]) == (None, None, 420)
    assert "no verdict" in band["sentence"]
    assert len(told.of_kind("band_limit")) == 1


def test_baseline_says_that_there_is_no_specification(tensionear: Tensionear) -> None:
    told = tensionear(
        "band", "--baseline-hz", 118, "--baseline-percent", 5, "--baseline-job", "invented job 7", "--json"
    )
    (band,) = told.of_kind("band")
    assert not band["is_specification"]
    assert band["sentence"].startswith("There is no specification.")
    assert (band["lower"], band["upper"]) == (pytest.approx(118 * 0.95), pytest.approx(118 * 1.05))


def test_state_of_the_belt_stands_in_the_sentence(tensionear: Tensionear) -> None:
    told = tensionear("band", "--band-hz", 110, 122, "--state", "run-in", *SOURCE)
    assert "(run-in belt)" in told.out


@pytest.mark.parametrize(
    ("arguments", "complaint"),
    [
        ((), "there is no value"),
        (("--band-n", 380, 460, "--method", "force"), "--source is missing"),
        (("--band-n", 380, 460, *SOURCE), "--method is missing"),
        (("--band-n", 460, 380, "--method", "force", *SOURCE), "upside down"),
        (("--band-n", 380, 460, "--method", "frequency", *SOURCE), "is the method right"),
        (("--band-hz", 110, 122, "--method", "vibration", *SOURCE), "is the method right"),
        (("--band-n", 380, 460, "--method", "vibration", *SOURCE), "needs the span length"),
        (("--band-n", 380, 460, "--band-hz", 100, 110, *SOURCE), "in two units"),
        (("--band-hz", 100, 110, "--nominal-hz", 105, *SOURCE), "stated twice"),
        (("--nominal-n", 400, "--tolerance-hz", 5, "--method", "force", *SOURCE), "do not go together"),
        (("--nominal-n", 400, "--tolerance-n", 500, "--method", "force", *SOURCE), "is no band"),
        (("--nominal-n", 400, "--tolerance-percent", "nan", "--method", "force", *SOURCE), "is no band"),
        (
            ("--nominal-hz", 100, "--tolerance-hz", 5, "--tolerance-percent", 5, *SOURCE),
            "which one is stated",
        ),
        (("--tolerance-percent", 5, *SOURCE), "without its value"),
        (("--push-force-n", 20, *SOURCE), "both its force and its deflection"),
        (("--push-force-n", 20, "--push-deflection-mm", 2, *SOURCE), "add the span length"),
        (
            ("--push-force-n", 20, "--push-deflection-mm", 200, *SPAN, *SOURCE),
            "was it entered in another unit",
        ),
        (("--baseline-hz", 118, "--baseline-percent", 5), "which earlier job"),
        (("--baseline-hz", 118, "--baseline-job", "7"), "--baseline-percent is missing"),
        (("--baseline-hz", "nan", "--baseline-job", "7", "--baseline-percent", 5), "not a finite number"),
        (("--baseline-percent", 5), "--baseline-hz"),
        (
            (
                "--band-hz",
                100,
                110,
                "--baseline-hz",
                118,
                "--baseline-job",
                "7",
                "--baseline-percent",
                3,
                *SOURCE,
            ),
            "both",
        ),
        (
            ("--band-n", 380, 460, "--method", "force", "--stated-span-length-mm", 200, *SOURCE),
            "no reference span",
        ),
        (("--band-hz", 110, 120, "--stated-span-length-mm", 0.2, *SOURCE), "entered in metres"),
        (("--band-lbf", 0.1, 0.2, "--method", "force", *SOURCE), "less than 5 N"),
    ],
)
def test_bad_input_is_told_with_exit_code_2(
    arguments: tuple[object, ...], complaint: str, tensionear: Tensionear
) -> None:
    told = tensionear("band", *arguments)
    assert told.code == 2
    assert complaint in told.err
    assert "Traceback" not in told.err
    assert told.out == ""
