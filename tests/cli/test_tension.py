"""``tensionear tension``: numbers by hand, and what is told around them."""

import math

import pytest

from tensionear.belt.stiff_span import partial_frequency
from tests.cli.command import Tensionear

SPAN = ("--span-length-mm", 213, "--linear-density-g-per-m", 165)
FLEXIBLE = (*SPAN, "--flexible")
STIFF = ("--bending-stiffness-n-m2", 0.045, "--bending-stiffness-within-percent", 10, "--ends", "clamped")


def test_tension_and_its_uncertainty_are_those_worked_by_hand(tensionear: Tensionear) -> None:
    # T = 4·0.165·0.213²·121.4² N; u/T² = (2·1/213)²/3 + 0.01²/3, both half-widths rectangular (JCGM 100, 4.3.7).
    told = tensionear("tension", "--hertz", 121.4, *FLEXIBLE, "--json")
    assert told.code == 0
    (result,) = told.of_kind("budget_result")
    assert result["value"] == pytest.approx(441.30, abs=0.01)
    relative = math.sqrt(((2 / 213) ** 2 + 0.01**2) / 3)
    assert result["standard_uncertainty"] == pytest.approx(441.30 * relative, rel=1e-4)
    assert result["expanded_uncertainty"] == pytest.approx(1.95996 * 441.30 * relative, rel=1e-4)
    assert result["dominant"] == "linear density"
    assert any("taken as flexible" in warning for warning in result["warnings"])


def test_shares_of_the_budget_sum_to_one_and_each_input_says_where_it_is_from(tensionear: Tensionear) -> None:
    told = tensionear("tension", "--hertz", 121.4, "--hertz-plus-minus", 0.5, *SPAN, *STIFF, "--json")
    inputs = told.of_kind("budget_input")
    assert sum(each["share"] for each in inputs) == pytest.approx(1.0)
    assert [each["name"] for each in inputs] == [
        "fundamental", "span length", "linear density", "bending stiffness", "end fixity",
    ]  # fmt: skip
    assert all(each["origin"] for each in inputs)


def test_stiff_tension_is_the_one_that_rings_so_and_the_flexible_one_is_told_beside_it(
    tensionear: Tensionear,
) -> None:
    hertz = partial_frequency(400.0, 0.213, 0.165, 0.045, 1.0)
    told = tensionear("tension", "--hertz", hertz, *SPAN, *STIFF, "--json")
    (result,) = told.of_kind("budget_result")
    assert result["value"] == pytest.approx(400.0)
    assert result["as_if_flexible"] == pytest.approx(4 * 0.165 * (0.213 * hertz) ** 2)
    assert result["as_if_flexible"] > 1.2 * 400.0
    assert result["warnings"] == []


def test_frequency_of_a_tension_goes_back_to_that_tension(tensionear: Tensionear) -> None:
    (forth,) = tensionear("tension", "--newtons", 420, *SPAN, *STIFF, "--json").of_kind("budget_result")
    (back,) = tensionear("tension", "--hertz", forth["value"], *SPAN, *STIFF, "--json").of_kind(
        "budget_result"
    )
    assert forth["unit"] == "Hz"
    assert back["value"] == pytest.approx(420.0)


def test_pounds_and_inches_are_those_of_the_standards(tensionear: Tensionear) -> None:
    # 1 lbf = 4.448 222 N and 1 in = 25.4 mm: NIST SP 811, appendix B.
    told = tensionear(
        "tension",
        "--pounds-force",
        100,
        "--span-length-in",
        10,
        "--linear-density-g-per-m",
        165,
        "--flexible",
        "--json",
    )
    (result,) = told.of_kind("budget_result")
    assert result["value"] == pytest.approx(math.sqrt(444.8222 / 0.165) / (2 * 0.254), rel=1e-6)
    people = tensionear(
        "tension", "--pounds-force", 100, "--span-length-in", 10, "--linear-density-g-per-m", 165
    )
    assert "100 lbf" in people.out
    assert "10.000 ± 0.039 in" in people.out


def test_tell_in_chooses_the_unit(tensionear: Tensionear) -> None:
    told = tensionear("tension", "--hertz", 121.4, *FLEXIBLE, "--tell-in", "lbf", "--tell-in", "in")
    assert "99.2 ± 1.5 lbf" in told.out  # 441.3 N / 4.448 222
    assert "8.386 ± 0.039 in" in told.out  # 213 mm / 25.4
    both = tensionear("tension", "--hertz", 121.4, *SPAN, "--tell-in", "lbf", "--tell-in", "N")
    assert both.code == 2


def test_several_plucks_are_averaged_by_their_scatter_with_students_t(tensionear: Tensionear) -> None:
    told = tensionear("tension", "--hertz", 121.0, "--hertz", 121.4, "--hertz", 121.8, *SPAN, "--json")
    fundamental = told.of_kind("budget_input")[0]
    assert fundamental["value"] == pytest.approx(121.4)
    assert fundamental["standard_uncertainty"] == pytest.approx(0.4 / math.sqrt(3))
    assert fundamental["degrees_of_freedom"] == 2
    assert fundamental["evaluation"] == "A"


def test_drawing_agrees_with_the_budget_where_it_is_nearly_straight(tensionear: Tensionear) -> None:
    told = tensionear(
        "tension", "--hertz", 121.4, "--hertz-plus-minus", 1, *SPAN, *STIFF, "--monte-carlo", "--json"
    )
    (result,), (trials,) = told.of_kind("budget_result"), told.of_kind("budget_trials")
    assert trials["mean"] == pytest.approx(result["value"], rel=1e-3)
    assert trials["standard_uncertainty"] == pytest.approx(result["standard_uncertainty"], rel=0.02)
    assert trials["settled"]


def test_weighed_density_is_mass_over_teeth_times_pitch(tensionear: Tensionear) -> None:
    told = tensionear(
        "tension", "--hertz", 121.4, "--span-length-mm", 213, "--belt-mass-g", 198, "--belt-teeth", 150,
        "--tooth-pitch-mm", 8, "--json",
    )  # fmt: skip
    density = told.of_kind("budget_input")[2]
    assert density["value"] == pytest.approx(0.198 / 1.2)
    assert density["origin"] == "weighed"


def test_rough_density_warns_and_air_of_the_belts_width_is_an_input(tensionear: Tensionear) -> None:
    told = tensionear(
        "tension", "--hertz", 121.4, "--span-length-mm", 213, "--belt-kind", "automotive-9-525-mm",
        "--belt-width-mm", 25, "--json",
    )  # fmt: skip
    (result,) = told.of_kind("budget_result")
    assert any("weigh the belt" in warning for warning in result["warnings"])
    (air,) = [each for each in told.of_kind("budget_input") if each["name"] == "air carried along"]
    assert air["value"] == pytest.approx(math.pi / 4 * 1.2 * 0.025**2)


def test_without_a_word_on_stiffness_the_interval_holds_the_flexible_and_the_clamped_tension(
    tensionear: Tensionear,
) -> None:
    hertz = partial_frequency(400.0, 0.213, 0.165, 0.045, 1.0)  # stiffness ratio 20
    told = tensionear("tension", "--hertz", hertz, *SPAN, "--json")
    (result,) = told.of_kind("budget_result")
    flexible_n = 4 * 0.165 * (0.213 * hertz) ** 2
    low, high = (result["value"] + sign * result["expanded_uncertainty"] for sign in (-1, 1))
    assert low < 400.0
    assert high > flexible_n
    assert result["dominant"] == "unknown stiffness"
    both = tensionear("tension", "--hertz", hertz, *SPAN, *STIFF, "--flexible")
    assert both.code == 2
    assert "both given" in both.err


def test_unknown_stiffness_alone_does_not_make_a_short_span_look_tight(tensionear: Tensionear) -> None:
    readings = [
        word
        for length in (0.213, 0.4)
        for word in ("--span-reading-mm", 1000 * length, partial_frequency(400.0, length, 0.165, 0.045, 1.0))
    ]
    belt = ("--linear-density-g-per-m", 165)
    (open_,) = tensionear("tension", *readings, *belt, "--json").of_kind("span_comparison")
    assert open_["largest_difference"] > 0.1
    assert open_["evened_out"]
    (flexible,) = tensionear("tension", *readings, *belt, "--flexible", "--json").of_kind("span_comparison")
    assert not flexible["evened_out"]


def test_spans_that_differ_by_more_than_friction_say_turn_over_again(tensionear: Tensionear) -> None:
    even = partial_frequency(400.0, 0.213, 0.165, 0.0, 0.0)
    slack = partial_frequency(320.0, 0.3, 0.165, 0.0, 0.0)
    alike = partial_frequency(400.0, 0.3, 0.165, 0.0, 0.0)
    belt = ("--linear-density-g-per-m", 165, "--hertz-plus-minus", 0.3, "--flexible")
    uneven = tensionear(
        "tension", "--span-reading-mm", 213, even, "--span-reading-mm", 300, slack, *belt, "--json"
    )
    (comparison,) = uneven.of_kind("span_comparison")
    assert not comparison["evened_out"]
    assert (comparison["tightest"], comparison["slackest"]) == (1, 2)
    assert "turn the engine over again by hand" in comparison["sentence"]
    evened = tensionear("tension", "--span-reading-mm", 213, even, "--span-reading-mm", 300, alike, *belt)
    assert "no more than friction and uncertainty explain" in " ".join(evened.out.split())


def test_unknown_stiffness_does_not_make_spans_of_different_length_look_uneven(
    tensionear: Tensionear,
) -> None:
    # Both at 400 N and clamped; told that nothing is known of the ends, the short one comes out far tighter.
    readings = [
        word
        for length in (0.12, 0.4)
        for word in ("--span-reading-mm", 1000 * length, partial_frequency(400.0, length, 0.165, 0.045, 1.0))
    ]
    told = tensionear(
        "tension", *readings, "--linear-density-g-per-m", 165, "--bending-stiffness-n-m2", 0.045, "--json"
    )
    (comparison,) = told.of_kind("span_comparison")
    assert comparison["largest_difference"] > 0.1
    assert comparison["evened_out"]


def test_tensioner_position_lies_on_the_line_through_both(tensionear: Tensionear) -> None:
    told = tensionear(
        "tension", "--tensioner", 10, 118, "--tensioner", 14, 124, "--aim-hertz", 121, *SPAN, "--json"
    )
    (move,) = told.of_kind("tensioner_move")
    by_hand = 10 + 4 * (121**2 - 118**2) / (124**2 - 118**2)  # the tension goes with the square
    assert move["position"] == pytest.approx(by_hand)
    assert move["change"] == pytest.approx(by_hand - 14)
    assert not move["is_extrapolated"]


def test_tensions_too_alike_give_no_advice(tensionear: Tensionear) -> None:
    told = tensionear(
        "tension", "--tensioner", 10, 118, "--tensioner", 14, 118.3, "--hertz-plus-minus", 0.5, "--aim-newtons", 420,
        *SPAN,
    )  # fmt: skip
    assert told.code == 0
    assert "No advice" in told.out


@pytest.mark.parametrize(
    ("arguments", "complaint"),
    [
        (("--hertz", "nan", *SPAN), "not a finite number"),
        (("--hertz", -5, *SPAN), "negative"),
        (("--hertz", 5, *SPAN), "from 10 to 2000 Hz"),
        (("--hertz", 121, "--newtons", 3, *SPAN), "one of --hertz, --newtons"),
        (SPAN, "one of --hertz, --newtons"),
        (("--hertz", 121), "linear density is missing"),
        (("--hertz", 121, "--linear-density-g-per-m", 165), "span length is missing"),
        (("--hertz", 121, "--span-length-mm", 0.213, "--linear-density-g-per-m", 165), "entered in metres"),
        (
            ("--hertz", 121, "--span-length-in", 213, "--linear-density-g-per-m", 165),
            "entered in millimetres",
        ),
        (("--hertz", 121, "--span-length-mm", 213, "--linear-density-g-per-m", 0.165), "kilograms per metre"),
        (("--hertz", 121, *SPAN, "--span-length-within-mm", 90), "entered in another unit or in per cent"),
        (("--hertz", 121, "--hertz", 60, *SPAN), "do not agree"),
        (("--hertz", 121, "--hertz-plus-minus", 50, *SPAN), "a fifth of 121 Hz"),
        (("--newtons", 0, *SPAN), "must be above 0"),
        (("--pounds-force", 1e9, *SPAN), "lbf does not lie from"),
        (
            ("--newtons", 20, "--span-length-mm", 60, "--linear-density-g-per-m", 165, *STIFF),
            "bends like a bar",
        ),
        (("--hertz", 25, "--span-length-mm", 80, "--linear-density-g-per-m", 165, *STIFF), "nothing to tell"),
        (("--hertz", 121, *SPAN, "--ends", "clamped"), "--ends says nothing of a flexible span"),
        (("--hertz", 121, *SPAN, "--bending-stiffness-n-m2", "inf"), "not a finite number"),
        (("--hertz", 121, *SPAN, "--bending-stiffness-n-m2", 20000), "square millimetres"),
        (("--hertz", 121, "--span-length-mm", 213, "--belt-mass-g", 180), "needs its length"),
        (("--hertz", 121, *SPAN, "--belt-mass-g", 180), "both given"),
        (("--hertz", 121, *SPAN, "--calibration", "nowhere.json"), "cannot be read"),
        (("--hertz", 121, *SPAN, "--aim-newtons", 400), "go with --tensioner"),
        (("--tensioner", 1, 118, "--aim-newtons", 400, *SPAN), "not twice"),
        (("--tensioner", 1, 118, "--tensioner", 2, 119, *SPAN), "what is aimed at is missing"),
        (
            ("--tensioner", "nan", 118, "--tensioner", 2, 119, "--aim-hertz", 119, *SPAN),
            "not a finite number",
        ),
        (("--span-reading-mm", 213, 121, "--linear-density-g-per-m", 165), "one span cannot be compared"),
        (("--span-reading-mm", 213, "1,1", "--linear-density-g-per-m", 165), "with a point, not a comma"),
        (("--hertz", 121, *SPAN, "--monte-carlo", "--seed", -1), "--seed"),
    ],
)
def test_bad_input_is_told_with_exit_code_2(
    arguments: tuple[object, ...], complaint: str, tensionear: Tensionear
) -> None:
    told = tensionear("tension", *arguments)
    assert told.code == 2
    assert complaint in told.err
    assert "Traceback" not in told.err
    assert told.out == ""


def test_no_line_is_wider_than_the_terminal(tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    told = tensionear("tension", "--hertz", 121.4, "--hertz-plus-minus", 1, *SPAN, *STIFF, "--monte-carlo")
    assert max(len(line) for line in told.out.splitlines()) <= 80
