"""``tensionear span``: lengths by hand, and a drive from a file."""

import math
from pathlib import Path

import pytest

from tests.cli.command import Tensionear

DRIVE = Path(__file__).parents[2] / "docs" / "examples" / "invented-drive.toml"


def test_same_side_span_is_that_of_pythagoras(tensionear: Tensionear) -> None:
    # Radii 22·8/2π and 44·8/2π mm; s is their difference.
    told = tensionear(
        "span",
        "--centre-distance-mm",
        250,
        "--first-teeth",
        22,
        "--second-teeth",
        44,
        "--tooth-pitch-mm",
        8,
        "--json",
    )
    (span,) = told.of_kind("span")
    step = 22 * 8 / (2 * math.pi)
    length = math.sqrt(250**2 - step**2)
    assert span["span_length_m"] == pytest.approx(length / 1000)
    assert span["span_length_standard_uncertainty_m"] == pytest.approx(0.001 / math.sqrt(3) * 250 / length)
    assert span["course"] == "same side"


def test_crossing_span_takes_the_sum_of_the_radii_with_the_cord_depth(tensionear: Tensionear) -> None:
    told = tensionear(
        "span", "--centre-distance-mm", 150, "--first-teeth", 22, "--tooth-pitch-mm", 8, "--second-diameter-mm", 58,
        "--cord-depth-mm", 1.8, "--crossing", "--json",
    )  # fmt: skip
    (span,) = told.of_kind("span")
    step = 22 * 8 / (2 * math.pi) + 29 + 1.8
    assert span["span_length_m"] == pytest.approx(math.sqrt(150**2 - step**2) / 1000)
    assert span["course"] == "crossing"


def test_what_is_told_for_the_other_commands_can_be_typed_there(tensionear: Tensionear) -> None:
    told = tensionear("span", "--measured-in", 8.4, "--within-in", 0.04)
    typed = told.out.split("For the other commands: ")[1].split()
    assert typed == ["--span-length-in", "8.4000", "--span-length-within-in", "0.04"]
    again = tensionear("tension", "--hertz", 121, "--linear-density-g-per-m", 165, *typed, "--json")
    assert again.code == 0
    assert again.of_kind("budget_input")[1]["value"] == pytest.approx(0.21336)  # 8.4 · 25.4 mm


def test_drive_tells_its_spans_wraps_and_belt_length(tensionear: Tensionear) -> None:
    told = tensionear("span", "--drive", DRIVE, "--plucked", "right cam", "pump", "--json")
    assert told.code == 0
    spans = told.of_kind("span")
    assert [span["is_plucked"] for span in spans] == [False, True, False, False, False]
    # Both camshafts have 44 teeth and lie level, 130 mm apart.
    assert spans[2]["span_length_m"] == pytest.approx(0.130)
    wraps = {pulley["name"]: pulley["wrap_angle_rad"] for pulley in told.of_kind("pulley")}
    # Turns of a closed belt make one whole turn, the tensioner on its back turning it the other way.
    assert sum(wraps.values()) - 2 * wraps["tensioner"] == pytest.approx(2 * math.pi)
    (belt,) = told.of_kind("belt_length")
    assert belt["belt_length_m"] == pytest.approx(1.2)
    assert belt["agrees"]


def test_drive_whose_belt_does_not_fit_ends_with_2_and_gives_no_length_to_type(
    tmp_path: Path, tensionear: Tensionear
) -> None:
    path = tmp_path / "short.toml"
    path.write_text(DRIVE.read_text("utf-8").replace("belt_teeth = 150", "belt_teeth = 148"), "utf-8")
    told = tensionear("span", "--drive", path, "--plucked", "pump", "right cam")
    assert told.code == 2
    assert "DOES NOT AGREE" in told.out
    assert "For the other commands" not in told.out


def test_picture_of_the_drive_is_drawn(tmp_path: Path, tensionear: Tensionear) -> None:
    picture = tmp_path / "drive.png"
    told = tensionear("span", "--drive", DRIVE, "--plucked", "pump", "right cam", "--picture", picture)
    assert told.code == 0
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert str(picture) in told.err


PULLEYS = ("--first-teeth", 22, "--second-teeth", 44, "--tooth-pitch-mm", 8)


@pytest.mark.parametrize(
    ("arguments", "complaint"),
    [
        ((), "none of --measured-mm"),
        (("--measured-mm", 213, "--drive", DRIVE), "2 of --measured-mm"),
        (("--measured-mm", 0.2), "entered in metres"),
        (("--measured-mm", 213, "--measured-in", 8), "which one holds"),
        (("--measured-mm", 213, "--within-mm", 100), "more than a fifth"),
        (("--measured-mm", 213, "--within-in", -1), "not 0 or more"),
        (("--measured-mm", 213, "--within-mm", "nan"), "not 0 or more"),
        (("--measured-mm", 213, "--first-teeth", 22), "goes with --centre-distance-mm"),
        (("--measured-mm", 213, "--crossing"), "goes with --centre-distance-mm"),
        (("--measured-mm", 213, "--picture", "x.png"), "go with --drive"),
        (("--centre-distance-mm", "nan", *PULLEYS), "not a finite number"),
        (("--centre-distance-mm", 30, *PULLEYS), "overlap"),
        (("--centre-distance-mm", 250, "--first-teeth", 22, "--tooth-pitch-mm", 8), "neither is given"),
        (
            ("--centre-distance-mm", 250, "--first-teeth", 22, "--second-teeth", 44),
            "--tooth-pitch-mm is missing",
        ),
        (("--centre-distance-mm", 250, *PULLEYS, "--first-diameter-mm", 50), "both are given"),
        (
            (
                "--centre-distance-mm",
                250,
                "--first-teeth",
                22,
                "--tooth-pitch-mm",
                8,
                "--second-diameter-mm",
                58,
            ),
            "--cord-depth-mm is missing",
        ),
        (("--drive", "nowhere.toml"), "cannot be read"),
        (("--drive", DRIVE, "--within-mm", 1), "goes with a measured length"),
        (("--drive", DRIVE, "--plucked", "crank", "left cam"), "the spans are"),
        (("--drive", DRIVE, "--picture", "x.bmp"), "no other kind can be drawn"),
        (("--drive", DRIVE, "--picture", "nowhere/x.png"), "there is no folder"),
    ],
)
def test_bad_input_is_told_with_exit_code_2(
    arguments: tuple[object, ...], complaint: str, tensionear: Tensionear
) -> None:
    told = tensionear("span", *arguments)
    assert told.code == 2
    assert complaint in told.err
    assert "Traceback" not in told.err
