"""Drives described in files: what is read, and what is refused where."""

import json
import tomllib
from pathlib import Path

import pytest

from tensionear.belt.drive import Sense
from tensionear.belt.pulley import Face
from tensionear.drive_file import read_drive
from tensionear.errors import InputError

EXAMPLE = Path(__file__).parents[1] / "docs" / "examples" / "invented-drive.toml"
TEXT = EXAMPLE.read_text(encoding="utf-8")


def test_example_is_the_drive_that_it_describes() -> None:
    described = read_drive(EXAMPLE)
    assert described.name == "invented drive"
    assert described.drive.sense is Sense.ANTICLOCKWISE
    assert [pulley.name for pulley in described.drive.pulleys] == [
        "crank", "pump", "right cam", "left cam", "tensioner",
    ]  # fmt: skip
    tensioner = described.drive.pulleys[4]
    assert tensioner.face is Face.BACK
    assert tensioner.pitch_radius_m == pytest.approx(0.029 + 0.0018)
    assert tensioner.radius_standard_uncertainty_m == pytest.approx(0.00005 / 3**0.5)
    assert described.drive.pulleys[0].centre_standard_uncertainty_m == pytest.approx(0.0005 / 3**0.5)
    check = described.check()
    assert check is not None
    assert check.agrees


def test_json_and_inches_describe_the_same_drive(tmp_path: Path) -> None:
    content = tomllib.loads(TEXT)
    for table in (content, *content["pulleys"]):
        for name in [name for name in table if name.endswith("_mm")]:
            table[name.removesuffix("_mm") + "_in"] = table.pop(name) / 25.4
    path = tmp_path / "drive.json"
    path.write_text(json.dumps(content), encoding="utf-8")
    inches, millimetres = read_drive(path).drive, read_drive(EXAMPLE).drive
    assert inches.belt_length.value == pytest.approx(millimetres.belt_length.value)
    for one, other in zip(inches.spans, millimetres.spans, strict=True):
        assert one.span_length.value == pytest.approx(other.span_length.value)


def test_belt_that_is_not_said_is_not_checked(tmp_path: Path) -> None:
    path = tmp_path / "drive.toml"
    path.write_text(TEXT.replace("belt_teeth = 150", ""), encoding="utf-8")
    assert read_drive(path).check() is None


@pytest.mark.parametrize(
    ("written", "instead", "complaint"),
    [
        ("teeth = 22", 'teeth = "22"', "crank: teeth = '22' is no number"),
        ("teeth = 22", "teeth = true", "crank: teeth = True is no number"),
        ("teeth = 22", "teeth = nan", "crank: teeth is not a finite number"),
        ("teeth = 22", "teeth = 22.5", "crank: 22.5 teeth of a pulley is not a whole number"),
        ("teeth = 22", f"teeth = 1{'0' * 400}", "not a finite number"),
        ("teeth = 22", "", "give one of teeth, radius and diameter, not none"),
        ("diameter_mm = 58", "diameter_mm = 58\nradius_mm = 29", "not 2 of them"),
        ("diameter_mm = 58", "diameter_mm = 5800", "diameter 5800 mm is larger than 1000 mm"),
        ("diameter_mm = 58", "diameter_mm = 58\ndiameter_in = 2.3", "in millimetres and in inches"),
        ("cord_depth_mm = 1.8", "", "tensioner: cord_depth_mm is missing"),
        ("cord_depth_mm = 1.8", "cord_depth_mm = 180", "was a decimal point lost"),
        ("cord_depth_mm = 1.8", "cord_depth_mm = -1.8", "negative"),
        ("teeth = 20", "teeth = 20\ncord_depth_mm = 1", "pump: a pulley with teeth"),
        ("teeth = 20", 'teeth = 20\nface = "back"', "pump: a pulley with teeth"),
        ('face = "back"', 'face = "inside"', "is none of toothed, back"),
        ('face = "back"', 'face = ["back"]', "is no text"),
        ("x_mm = 95", "x_mm = 95000", "farther than 10000 mm"),
        ("x_mm = 95", "", "pump: x_mm is missing"),
        ('name = "pump"', "", "pulley 2: name is missing"),
        ('name = "pump"', 'name = "crank"', "two pulleys are called crank"),
        ("tooth_pitch_mm = 8", "tooth_pitch_mm = 0.8", "tooth pitch 0.8 mm is shorter than 2 mm"),
        ("tooth_pitch_mm = 8", "", "without tooth_pitch_mm at the head"),
        ("belt_teeth = 150", "belt_teeth = 15000", "from 30 to 500"),
        ("belt_teeth = 150", "belt_tooth = 150", "belt_tooth is not known here: is belt_teeth meant"),
        ('sense = "anticlockwise"', "", "sense is missing"),
        ('sense = "anticlockwise"', 'sense = "clockwise"', "are they listed anticlockwise"),
        ("[[pulleys]]", "[[pulley]]", "no list of tables"),
        ('drive = "invented drive"', "drive = invented", "is no TOML"),
    ],
)
def test_a_slip_is_told_with_its_place(tmp_path: Path, written: str, instead: str, complaint: str) -> None:
    path = tmp_path / "drive.toml"
    assert written in TEXT
    path.write_text(TEXT.replace(written, instead), encoding="utf-8")
    with pytest.raises(InputError, match=complaint) as told:
        read_drive(path)
    assert str(told.value).startswith(f"drive file {path}: ")


@pytest.mark.parametrize(
    ("name", "content", "complaint"),
    [
        ("drive.txt", b"", "does not end in .toml or .json"),
        ("drive.json", b"[1, 2]", "is a list and no table"),
        ("drive.json", b"\xff\xfe", "is no JSON"),
        ("drive.json", b"[" * 100_000, "is no JSON"),
        ("drive.toml", bytes(1_000_001), "more than 1000000 bytes"),
        ("drive.json", b'{"sense": "clockwise", "pulleys": []}', "has no span"),
    ],
)
def test_other_files_are_refused(tmp_path: Path, name: str, content: bytes, complaint: str) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(InputError, match=complaint):
        read_drive(tmp_path / name)


@pytest.mark.parametrize("name", ["nowhere.toml", "null\0.toml"])
def test_missing_file_is_told(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_drive(tmp_path / name)
