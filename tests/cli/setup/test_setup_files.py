"""``tensionear setup export`` and ``import``: files for other programs, and files from anyone."""

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from tests.cli.command import Tensionear
from tests.cli.invented_setup import SETUP

SCHEMA = Path(__file__).parents[3] / "docs" / "schemas" / "setup-1.schema.json"


@pytest.fixture
def exported(tensionear: Tensionear, tmp_path: Path) -> Path:
    """A setup in a file."""
    tensionear("setup", "new", "invented four", *SETUP)
    path = tmp_path / "four.json"
    assert tensionear("setup", "export", "invented four", path).code == 0
    return path


def changed(path: Path, change: Callable[[dict[str, Any]], object]) -> Path:
    """The same file as somebody else might have written it."""
    content = json.loads(path.read_text("utf-8"))
    change(content)
    path.write_text(json.dumps(content), "utf-8")
    return path


def test_a_setup_that_is_exported_and_imported_is_the_same(exported: Path, tensionear: Tensionear) -> None:
    told = tensionear("setup", "import", exported, "--name", "five", "--json")
    assert told.code == 0
    original = tensionear("setup", "show", "invented four", "--json").lines[0]["setup"]
    assert told.lines[0]["setup"] == {**original, "name": "five"}


def test_the_file_is_as_its_published_schema_says(exported: Path) -> None:
    schema = json.loads(SCHEMA.read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(json.loads(exported.read_text("utf-8")), schema, jsonschema.Draft202012Validator)


def test_a_name_that_is_taken_needs_a_reason_and_becomes_a_version(
    exported: Path, tensionear: Tensionear
) -> None:
    told = tensionear("setup", "import", exported)
    assert told.code == 2
    assert "there is a setup 'invented four'" in told.err
    changed(exported, lambda content: content["setup"].update(notes="from the other bay"))
    told = tensionear("setup", "import", exported, "--reason", "as in the other bay", "--json")
    assert (told.lines[0]["setup_version"], told.lines[0]["reason"]) == (2, "as in the other bay")


def test_a_file_that_is_there_already_is_not_written_over(exported: Path, tensionear: Tensionear) -> None:
    before = exported.read_bytes()
    told = tensionear("setup", "export", "invented four", exported)
    assert told.code == 2
    assert "is there already" in told.err
    assert exported.read_bytes() == before
    assert tensionear("setup", "export", "invented four", exported, "--overwrite").code == 0


def test_the_list_guards_a_spreadsheet_against_formulas(tensionear: Tensionear, tmp_path: Path) -> None:
    tensionear("setup", "new", "=HYPERLINK(0)", *SETUP, "--engine", "+1", "--belt", "@x", "--notes", "-2")
    path = tmp_path / "list.csv"
    assert tensionear("setup", "export", "--all", path).code == 0
    (row,) = csv.DictReader(io.StringIO(path.read_text("utf-8-sig")))
    assert row["setup_name"] == "'=HYPERLINK(0)"
    assert (row["engine"], row["belt"], row["notes"]) == ("'+1", "'@x", "'-2")
    assert (row["span_length_m"], row["final_setting_upper"], row["over_tension_lower"]) == (
        "0.213",
        "460",
        "600",
    )


def test_the_list_can_be_written_for_decimal_commas(tensionear: Tensionear, tmp_path: Path) -> None:
    tensionear("setup", "new", "invented four", *SETUP)
    path = tmp_path / "list.csv"
    tensionear("setup", "export", "--all", path, "--decimal-comma")
    (row,) = csv.DictReader(io.StringIO(path.read_text("utf-8-sig")), delimiter=";")
    assert row["span_length_m"] == "0,213"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("four.json",), "name the setup and the file, or add --all"),
        (("--all", "four", "x.csv"), "with --all, name the file alone"),
        (("invented four", "four.txt"), "does not end in .json"),
        (("--all", "list.json"), "does not end in .csv"),
        (("other", "other.json"), "there is no setup 'other'"),
    ],
)
def test_an_export_that_cannot_be_meant_is_refused(
    arguments: tuple[str, ...], said: str, exported: Path, tensionear: Tensionear
) -> None:
    told = tensionear("setup", "export", *arguments)
    assert told.code == 2
    assert said in told.err


def no_length(content: dict[str, Any]) -> None:
    content["setup"]["span"]["inputs"].pop(0)


def in_millimetres(content: dict[str, Any]) -> None:
    content["setup"]["span"]["inputs"][0]["measured"]["value"] = 213


def not_finite(content: dict[str, Any]) -> None:
    content["setup"]["span"]["inputs"][0]["measured"]["value"] = float("nan")


def upside_down(content: dict[str, Any]) -> None:
    content["setup"]["specification"]["values"][0]["stated"]["lower"] = 900


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (no_length, "setup.span: of the span is missing: span length"),
        (in_millimetres, "span length 213 m is longer than 5 m: was it entered in millimetres?"),
        (not_finite, "setup.span.inputs[1].measured.value nan should be a finite number"),
        (upside_down, "is the band upside down?"),
        (lambda content: content["setup"]["run_in"].update(revolutions=500), "run_in.revolutions 500 should be"),
        (lambda content: content["setup"]["run_in"].update(revolutions="10"), "'10' should be a valid integer"),
        (lambda content: content["setup"]["run_in"].update(revolutions=True), "True should be a valid integer"),
        (lambda content: content["setup"].update(colour="red"), "setup.colour is not known: is it misspelt"),
        (lambda content: content["setup"].pop("name"), "setup.name is missing"),
        (lambda content: content["setup"].update(name="  "), "setup.name"),
        (lambda content: content["setup"]["specification"].update(source=""), "setup.specification.source is empty"),
        (lambda content: content["setup"].update(notes="x" * 10_001), "should have at most 10000 characters"),
        (lambda content: content.update(format_version=2), "this program reads 1: is it from a newer one?"),
        (lambda content: content.update(kind="belt calibration"), 'its kind is not "setup"'),
        (lambda content: content.update(more=1), "more is not known"),
    ],
)  # fmt: skip
def test_what_a_file_cannot_mean_is_told_with_field_value_and_limit(
    change: Callable[[dict[str, Any]], object], said: str, exported: Path, tensionear: Tensionear
) -> None:
    told = tensionear("setup", "import", changed(exported, change), "--name", "five")
    assert told.code == 2
    assert said in told.err
    assert "Traceback" not in told.err
    assert [line["setup_name"] for line in tensionear("setup", "list", "--json").lines] == ["invented four"]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "it is no JSON"),
        (b"\x00\xff", "it is no JSON"),
        (b"RIFF....WAVE", "it is no JSON"),
        (b"[" * 100_000, "it is no JSON"),
        (b"[]", 'its kind is not "setup"'),
        (b'{"kind": "setup", "kind": "setup", "format_version": 1}', "kind stands twice"),
        (b'{"kind": "setup", "format_version": 1, "setup": {"name": "\\ud800"}}', "setup"),
        (b'{"kind": "setup", "format_version": 1, "setup": {"name": "x", "plucks_per_pass": 1e400}}', "plucks"),
        (b" " * 1_000_001, "it has more than 1000000 bytes"),
    ],
)  # fmt: skip
def test_a_hostile_file_is_refused_without_a_traceback(
    content: bytes, said: str, tmp_path: Path, tensionear: Tensionear
) -> None:
    (tmp_path / "hostile.json").write_bytes(content)
    told = tensionear("setup", "import", tmp_path / "hostile.json")
    assert told.code == 2
    assert said in told.err
    assert "Traceback" not in told.err
    assert "fault of tensionear" not in told.err


def test_a_file_that_is_not_there_is_told(tensionear: Tensionear, tmp_path: Path) -> None:
    told = tensionear("setup", "import", tmp_path / "gone.json", "--json")
    assert told.code == 2
    assert "cannot be read (No such file or directory)" in told.of_kind("error")[0]["message"]
