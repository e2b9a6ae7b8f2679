"""``tensionear calibrate``: by options, from recordings, guided, and kept for later."""

import io
from pathlib import Path

import pytest
import soundfile

from tensionear.belt.stiff_span import partial_frequency
from tests.cli.command import Tensionear
from tests.plain_pluck import RATE_HZ, plucks

DENSITY, BENDING, MASS = 0.16, 0.045, 25.0
GRAVITY = 9.80665  # standard, 3rd CGPM, 1901


def rig_hz(length_m: float) -> float:
    """Fundamental of a clamped piece that hangs with the mass below."""
    return partial_frequency(GRAVITY * (MASS + DENSITY * length_m / 2), length_m, DENSITY, BENDING, 1.0)


RIG = (
    "--hung-mass-kg", MASS,
    *(word for length in (0.14, 0.22, 0.4, 0.6) for word in ("--span-mm", 1000 * length, f"{rig_hz(length):.3f}")),
)  # fmt: skip


def test_rig_gives_density_and_bending_stiffness_back(tensionear: Tensionear) -> None:
    told = tensionear("calibrate", *RIG, "--json")
    assert told.code == 0
    (found,) = told.of_kind("calibration")
    assert found["linear_density_kg_per_m"] == pytest.approx(DENSITY, rel=1e-4)
    assert found["bending_stiffness_n_m2"] == pytest.approx(BENDING, rel=1e-3)
    assert found["end_fixity"] == 1.0
    assert found["tension_n"] is None
    assert found["degrees_of_freedom"] == 2
    assert [line["number"] for line in told.of_kind("calibration_frequency")] == [1, 1, 1, 1]


def test_pounds_and_inches_give_the_same_belt(tensionear: Tensionear) -> None:
    # 1 lb = 0.453 592 37 kg and 1 in = 25.4 mm: NIST SP 811, appendix B.
    spans = [
        word
        for length in (0.14, 0.22, 0.4, 0.6)
        for word in ("--span-in", length / 0.0254, f"{rig_hz(length):.3f}")
    ]
    told = tensionear("calibrate", "--hung-mass-lb", MASS / 0.45359237, *spans, "--json")
    (found,) = told.of_kind("calibration")
    assert found["bending_stiffness_n_m2"] == pytest.approx(BENDING, rel=1e-3)


def test_partials_of_one_span_give_bending_stiffness_and_tension(tensionear: Tensionear) -> None:
    heard = [
        f"{partial_frequency(400.0, 0.213, DENSITY, BENDING, 1.0, number):.2f}" for number in (1, 2, 3, 4, 5)
    ]
    heard[2] = "-"
    told = tensionear(
        "calibrate", "--linear-density-g-per-m", 160, "--ends", "clamped", "--partials-mm", 213, ",".join(heard),
        "--json",
    )  # fmt: skip
    (found,) = told.of_kind("calibration")
    assert found["bending_stiffness_n_m2"] == pytest.approx(BENDING, rel=0.01)
    assert found["tension_n"] == pytest.approx(400.0, rel=0.01)
    assert [line["number"] for line in told.of_kind("calibration_frequency")] == [1, 2, 4, 5]


def test_spans_of_different_length_under_one_tension_give_both(tensionear: Tensionear) -> None:
    spans = [
        word
        for length in (0.12, 0.3, 0.5)
        for word in ("--span-mm", 1000 * length, partial_frequency(400.0, length, DENSITY, BENDING, 1.0))
    ]
    told = tensionear("calibrate", "--linear-density-g-per-m", 160, "--ends", "clamped", *spans, "--json")
    (found,) = told.of_kind("calibration")
    assert found["bending_stiffness_n_m2"] == pytest.approx(BENDING, rel=0.01)
    assert found["tension_n"] == pytest.approx(400.0, rel=0.01)


def test_recordings_of_the_rig_will_do(tmp_path: Path, tensionear: Tensionear) -> None:
    spans: list[object] = []
    for length in (0.14, 0.4):
        path = tmp_path / f"{1000 * length:.0f}.wav"
        soundfile.write(path, plucks([rig_hz(length), rig_hz(length)]), RATE_HZ)
        spans += ["--recording-mm", 1000 * length, path]
    told = tensionear("calibrate", "--hung-mass-kg", MASS, *spans, "--json")
    assert told.code == 0
    (found,) = told.of_kind("calibration")
    assert found["linear_density_kg_per_m"] == pytest.approx(DENSITY, rel=0.005)
    assert found["bending_stiffness_n_m2"] == pytest.approx(BENDING, rel=0.1)
    assert told.of_kind("calibration_frequency")[0]["source"] == "140.wav, 2 plucks"


def test_kept_calibration_makes_a_short_span_right_where_the_flexible_formula_is_not(
    tmp_path: Path, tensionear: Tensionear
) -> None:
    kept = tmp_path / "belt.json"
    assert tensionear("calibrate", *RIG, "--keep", kept).code == 0
    hertz = partial_frequency(400.0, 0.16, DENSITY, BENDING, 1.0)
    told = tensionear(
        "tension",
        "--hertz",
        hertz,
        "--span-length-mm",
        160,
        "--calibration",
        kept,
        "--ends",
        "clamped",
        "--json",
    )
    (result,) = told.of_kind("budget_result")
    assert result["value"] == pytest.approx(400.0, rel=0.02)
    assert result["as_if_flexible"] > 1.09 * 400.0
    # The clamps of the rig are no pulleys: without a word on the ends they count as unknown.
    unknown = tensionear(
        "tension", "--hertz", hertz, "--span-length-mm", 160, "--calibration", kept, "--json"
    )
    ends = unknown.of_kind("budget_input")[4]
    assert (ends["name"], ends["value"], ends["origin"]) == ("end fixity", 0.5, "unknown")
    (wide,) = unknown.of_kind("budget_result")
    assert wide["expanded_uncertainty"] > 5 * result["expanded_uncertainty"]


def test_no_spare_frequency_is_told(tensionear: Tensionear) -> None:
    told = tensionear(
        "calibrate", "--hung-mass-kg", MASS, "--span-mm", 140, rig_hz(0.14), "--span-mm", 600, rig_hz(0.6)
    )
    assert "nothing checks this result" in told.out


def guided(monkeypatch: pytest.MonkeyPatch, *answers: str) -> None:
    """Be a terminal at which these answers are typed."""
    terminal = io.StringIO("".join(f"{answer}\n" for answer in answers))
    monkeypatch.setattr(terminal, "isatty", lambda: True)
    monkeypatch.setattr("sys.stdin", terminal)


def test_guided_rig_asks_again_where_an_answer_cannot_be(
    tmp_path: Path, tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = tmp_path / "belt.json"
    guided(
        monkeypatch, "hang", "rig", "25000", "25", "0.14", "140", "180,5 x", str(rig_hz(0.14)), "220",
        str(rig_hz(0.22)), "600", str(rig_hz(0.6)), "", str(tmp_path / "belt.txt"), str(kept),
    )  # fmt: skip
    told = tensionear("calibrate")
    assert told.code == 0
    assert "heavier than 500 kg: was it entered in grams? Once more:" in " ".join(told.out.split())
    assert "bending stiffness  0.04" in told.out
    assert kept.exists()


def test_guided_partials_ask_for_density_and_ends_and_for_more_where_there_is_too_little(
    tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    heard = " ".join(
        f"{partial_frequency(400.0, 0.213, DENSITY, BENDING, 1.0, number):.2f}" for number in (1, 2, 3, 4)
    )
    guided(monkeypatch, "partials", "160", "clamped", "213", heard.split()[0], "", "213", heard, "", "")
    told = tensionear("calibrate")
    assert told.code == 0
    assert "Go on with another span" in told.out
    assert "tension" in told.out


def test_end_of_the_answers_ends_it(tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch) -> None:
    guided(monkeypatch, "rig", "25")
    assert tensionear("calibrate").code == 130


@pytest.mark.parametrize(
    ("arguments", "complaint"),
    [
        ((), "nothing was plucked"),
        (("--span-mm", 140, "180"), "--linear-density-g-per-m is missing"),
        (("--hung-mass-kg", 25000, "--span-mm", 140, "180"), "entered in grams"),
        (("--hung-mass-kg", 25, "--hung-mass-lb", 55, "--span-mm", 140, "180"), "which one holds"),
        (("--hung-mass-kg", 25, "--span-mm", 0.14, "180"), "entered in metres"),
        (("--hung-mass-kg", 25, "--span-mm", 140, "180,5"), "comma written for the decimal point"),
        (("--hung-mass-kg", 25, "--span-mm", 140, "abc"), "is not a frequency"),
        (("--hung-mass-kg", 25, "--span-mm", 140, ""), "left empty"),
        (("--hung-mass-kg", 25, "--span-mm", 140, "180"), "cannot determine"),
        (("--hung-mass-kg", 25, "--span-mm", 140, "180", "--span-mm", 600, "68"), "from the best fit"),
        (("--hung-mass-kg", 25, "--span-mm", 140, "180", "--gravity-m-per-s2", 98), "near 9.80665"),
        (("--hung-mass-kg", 25, "--span-mm", 140, "180", "--frequency-within-percent", 0), "not above 0"),
        (
            ("--hung-mass-kg", 25, "--span-mm", 140, "180", "--hung-mass-within-percent", -1),
            "does not lie from 0",
        ),
        (
            ("--hung-mass-kg", 25, "--span-mm", 140, "180", "--span-length-within-mm", 50),
            "entered in another unit",
        ),
        ((*RIG, "--keep", "belt.txt"), "does not end in .json"),
        ((*RIG, "--keep", "nowhere/belt.json"), "there is no folder"),
        (("--hung-mass-kg", 25, "--recording-mm", 140, "nowhere.wav"), "no file nowhere.wav"),
        (("--linear-density-g-per-m", 160, "--partials-mm", 213, "129,128"), "do not rise"),
        (("--linear-density-g-per-m", 160, "--partials-mm", 213, "-,-"), "has no frequency"),
        (("--linear-density-g-per-m", 160, "--partials-mm", 213, "129,nan"), "not above 0"),
        (("--linear-density-g-per-m", 0.16, "--partials-mm", 213, "129,267"), "kilograms per metre"),
    ],
)
def test_bad_input_is_told_with_exit_code_2(
    arguments: tuple[object, ...], complaint: str, tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO())
    told = tensionear("calibrate", *arguments)
    assert told.code == 2
    assert complaint in told.err
    assert "Traceback" not in told.err


def test_kept_file_is_never_written_over(tmp_path: Path, tensionear: Tensionear) -> None:
    kept = tmp_path / "belt.json"
    kept.write_text("precious", "utf-8")
    told = tensionear("calibrate", *RIG, "--keep", kept)
    assert told.code == 2
    assert "is there already" in told.err
    assert kept.read_text("utf-8") == "precious"
