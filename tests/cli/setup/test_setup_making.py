"""``tensionear setup new``, ``change``, ``copy``, ``show``, ``list``, ``versions``, ``delete`` and ``restore``."""

from typing import Any

import pytest

from tests.cli.command import Tensionear
from tests.cli.invented_setup import OVER_TENSION, RUN_IN, SETUP, SPAN, SPECIFIED


def made(tensionear: Tensionear, *options: object) -> dict[str, Any]:
    """Make a setup; what it is, from its line."""
    told = tensionear("setup", "new", "invented four", *options, "--json")
    assert told.code == 0, told.err
    (line,) = told.lines
    setup: dict[str, Any] = line["setup"]
    return setup


def test_a_setup_holds_what_was_typed_in_si_units(tensionear: Tensionear) -> None:
    setup = made(
        tensionear, *SETUP, "--engine", "invented engine", "--span-length-how", "steel rule", "--plucks", "7"
    )
    assert (setup["engine"], setup["span_length_how"], setup["plucks_per_pass"]) == (
        "invented engine",
        "steel rule",
        7,
    )
    inputs = {each["name"]: each["measured"]["value"] for each in setup["span"]["inputs"]}
    assert inputs["span length"] == pytest.approx(0.213)
    assert inputs["linear density"] == pytest.approx(0.165)
    (value,) = setup["specification"]["values"]
    assert value["state"] == "any belt"
    assert value["stated"] == {"form": "band", "lower": 380.0, "upper": 460.0, "unit": "N"}
    assert setup["run_in"] == {"revolutions": 10, "direction": "clockwise", "seen_from": "the belt's side"}
    assert [(line["step"], line["text"], line["value"], line["unit"]) for line in setup["checklist"]] == [
        ("locking tools out", "All pins out", None, ""), ("final setting", "Tensioner bolt", 25.0, "N m"),
    ]  # fmt: skip
    assert setup["cautions"] == ["Invented caution."]


def test_what_is_typed_in_inches_and_pounds_is_the_same(tensionear: Tensionear) -> None:
    imperial = made(
        tensionear, "--span-length-in", "8.385826771653543", "--linear-density-g-per-m", "165", "--flexible",
        "--band-lbf", "85.4274", "103.412", "--method", "force", "--source", "invented",
    )  # fmt: skip
    assert imperial["span"]["inputs"][0]["measured"]["value"] == pytest.approx(0.213, rel=1e-12)
    assert imperial["specification"]["values"][0]["stated"]["lower"] == pytest.approx(380.0, rel=1e-5)


def test_over_tension_takes_source_method_and_reference_of_the_specification(tensionear: Tensionear) -> None:
    setup = made(tensionear, *SPAN, *SPECIFIED, *OVER_TENSION)
    over = setup["over_tension"]
    assert (over["method"], over["source"]) == ("tension from a vibration", "invented page 12")
    assert over["reference"] == {"span_length_m": None, "linear_density_kg_per_m": None}
    assert over["values"][0]["state"] == "over-tension"


def test_over_tension_has_a_method_and_a_source_of_its_own_if_they_are_given(tensionear: Tensionear) -> None:
    setup = made(
        tensionear, *SPAN, *SPECIFIED,
        "--over-tension-band-hz", "140", "155", "--over-tension-source", "invented page 13",
    )  # fmt: skip
    over = setup["over_tension"]
    assert (over["method"], over["source"], over["reference"]) == ("frequency", "invented page 13", None)


def test_a_setup_with_a_name_alone_reads_frequencies(tensionear: Tensionear) -> None:
    setup = made(tensionear)
    assert (setup["span"], setup["specification"], setup["run_in"]) == (None, None, None)
    shown = tensionear("setup", "show", "invented four").out
    assert "only frequencies are read" in " ".join(shown.split())


def test_final_setting_and_re_check_are_judged_as_the_belt_that_the_value_is_for(
    tensionear: Tensionear,
) -> None:
    setup = made(tensionear, "--band-hz", "110", "122", "--source", "invented", "--state", "new")
    assert (setup["final_setting_state"], setup["re_check_state"]) == ("new belt", "new belt")


def test_a_change_is_a_new_version_and_the_first_stays(tensionear: Tensionear) -> None:
    made(tensionear, *SETUP)
    told = tensionear(
        "setup", "change", "invented four", "--reason", "measured again", "--by", "Ann",
        "--span-length-mm", "215", "--linear-density-g-per-m", "160", "--json",
    )  # fmt: skip
    assert told.code == 0, told.err
    (line,) = told.lines
    assert (line["setup_version"], line["reason"], line["by"]) == (2, "measured again", "Ann")
    assert line["setup"]["span"]["inputs"][0]["measured"]["value"] == pytest.approx(0.215)
    assert line["setup"]["run_in"]["revolutions"] == 10  # what was not given stays
    assert line["setup"]["specification"]["source"] == "invented page 12"
    names = [each["name"] for each in line["setup"]["span"]["inputs"]]
    assert "unknown stiffness" in names  # --flexible was not given again: the span is replaced as a whole
    first = tensionear("setup", "show", "invented four", "--version", "1", "--json").lines[0]
    assert first["setup"]["span"]["inputs"][0]["measured"]["value"] == pytest.approx(0.213)
    versions = tensionear("setup", "versions", "invented four", "--json").lines
    assert [each["setup_version"] for each in versions] == [1, 2]
    assert "measured again" in tensionear("setup", "versions", "invented four").out


def test_of_the_run_in_what_is_not_given_stays(tensionear: Tensionear) -> None:
    made(tensionear, *SETUP)
    told = tensionear("setup", "change", "invented four", "--reason", "six", "--revolutions", "6", "--json")
    assert told.lines[0]["setup"]["run_in"] == {
        "revolutions": 6, "direction": "clockwise", "seen_from": "the belt's side",
    }  # fmt: skip


def test_parts_are_taken_out(tensionear: Tensionear) -> None:
    made(tensionear, *SETUP)
    told = tensionear(
        "setup", "change", "invented four", "--reason", "not known", "--json",
        "--without", "over-tension", "--without", "run-in", "--without", "checklist", "--without", "cautions",
    )  # fmt: skip
    setup = told.lines[0]["setup"]
    assert (setup["over_tension"], setup["run_in"], setup["checklist"], setup["cautions"]) == (
        None,
        None,
        [],
        [],
    )
    assert setup["specification"] is not None


def test_a_change_needs_its_reason(tensionear: Tensionear) -> None:
    made(tensionear)
    told = tensionear("setup", "change", "invented four", "--notes", "x")
    assert told.code == 2
    assert "Missing option '--reason'" in told.err


def test_a_copy_is_the_same_under_another_name(tensionear: Tensionear) -> None:
    original = made(tensionear, *SETUP)
    copied = tensionear("setup", "copy", "invented four", "invented five", "--json").lines[0]
    assert copied["setup_version"] == 1
    assert copied["setup"] == {**original, "name": "invented five"}


def test_setups_are_found_by_words_and_put_away_and_brought_back(tensionear: Tensionear) -> None:
    made(tensionear, *SETUP, "--belt", "narrow belt")
    tensionear("setup", "copy", "invented four", "other")
    assert tensionear("setup", "list").out.splitlines()[0].startswith("invented four  version 1  narrow belt")
    assert [line["setup_name"] for line in tensionear("setup", "list", "narrow", "oth", "--json").lines] == [
        "other"
    ]
    asked = tensionear("setup", "delete", "other", "--reason", "not needed")
    assert asked.code == 2
    assert "add --yes" in asked.err
    assert tensionear("setup", "delete", "other", "--reason", "not needed", "--yes").code == 0
    assert [line["setup_name"] for line in tensionear("setup", "list", "--json").lines] == ["invented four"]
    assert [line["setup_name"] for line in tensionear("setup", "list", "--deleted", "--json").lines] == [
        "other"
    ]
    assert tensionear("setup", "restore", "other").code == 0
    assert len(tensionear("setup", "list", "--json").lines) == 2


def test_a_setup_is_shown_in_80_columns(tensionear: Tensionear) -> None:
    made(tensionear, *SETUP, "--engine", "invented engine " * 6)
    shown = tensionear("setup", "show", "invented four").out
    assert max(len(line) for line in shown.splitlines()) <= 80
    assert "10 revolutions, clockwise seen from the belt's side" in shown
    assert "As the final setting." in shown  # what the re-check is compared with is not said twice


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--span-length-mm", "213"), "the linear density is missing: add --linear-density-g-per-m"),
        (("--linear-density-g-per-m", "165"), "the span length is missing: add --span-length-mm"),
        (("--span-length-mm", "0.213", *SPAN[2:]), "was it entered in metres?"),
        (("--band-hz", "110", "122"), "--source is missing"),
        (("--band-n", "380", "460", "--source", "x", *SPAN), "--method is missing"),
        (("--band-n", "380", "460", "--source", "x", "--method", "force"), "add the span length and the linear"),
        (("--source", "x"), "the value is missing: add --band-hz"),
        (("--state", "over-tension", "--band-hz", "110", "122", "--source", "x"), "--over-tension-band-hz"),
        (OVER_TENSION, "over-tension: --source is missing"),
        ((*OVER_TENSION, "--over-tension-source", "x"), "over-tension: --method is missing"),
        (("--over-tension-source", "x"), "over-tension: the value is missing: add --over-tension-band-hz"),
        (("--revolutions", "6"), "--direction is missing"),
        (("--direction", "clockwise"), "--revolutions is missing"),
        ((*RUN_IN, "--revolutions", "500"), "run_in.revolutions 500 should be less than or equal to 100"),
        (("--plucks", "0"), "plucks_per_pass 0 should be greater than or equal to 1"),
        (("--check", "lunch", "x"), "'lunch' is not one of"),
        (("--check-value", "run-in", "bolt", "2,5", "N m"), "write the decimals with a point, not a comma"),
        (("--check-value", "run-in", "bolt", "25", ""), "a value and its unit belong together"),
        (("--check-value", "run-in", "bolt", "nan", "N m"), "nan should be a finite number"),
        (("--engine", "x" * 201), "should have at most 200 characters"),
        (("--asked-probability", "0.95"), "was it entered as a share?"),
        (("--baseline-hz", "118"), "--baseline-percent is missing"),
    ],
)  # fmt: skip
def test_what_cannot_be_meant_is_refused_with_the_limit_and_nothing_is_kept(
    options: tuple[str, ...], said: str, tensionear: Tensionear
) -> None:
    told = tensionear("setup", "new", "invented four", *options)
    assert told.code == 2
    assert said in " ".join(told.err.split())
    made(tensionear)  # the name is free


def test_a_name_that_is_taken_or_not_there_is_told(tensionear: Tensionear) -> None:
    made(tensionear)
    assert "there is a setup 'invented four'" in tensionear("setup", "new", "Invented Four").err
    told = tensionear("setup", "show", "invented for", "--json")
    assert told.code == 2
    assert "did you mean 'invented four'?" in told.of_kind("error")[0]["message"]
    assert tensionear("setup", "show", "invented four", "--version", "2").code == 2


def test_an_archive_that_is_not_there_is_made_for_a_new_setup_only(
    tensionear: Tensionear, own_archive: object
) -> None:
    told = tensionear("setup", "list")
    assert told.code == 5
    assert "there is no such file" in told.err
    made(tensionear)
    assert tensionear("setup", "list").code == 0
