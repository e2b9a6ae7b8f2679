"""``tensionear read``: what a person and what a program are told of a recording."""

import re
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.cli.command import Tensionear
from tests.plain_pluck import RATE_HZ, plucks

SPAN = ("--span-length-mm", "213", "--linear-density-g-per-m", "165")
SOURCE = ("--source", "invented manual, page 12")
VIBRATION = ("--method", "vibration", "--stated-for-this-span", *SOURCE)

PLUCK_KEYS = {
    "kind", "format_version", "software_version", "number", "source", "path",
    "channel", "at_s", "outcome", "reason", "explanation", "fundamental_hz",
    "fundamental_standard_uncertainty_hz", "fundamental_expanded_uncertainty_hz",
    "ring_time_s", "snr_db", "support", "stretch", "glide_hz",
    "rivals",
    "tension_n", "tension_standard_uncertainty_n", "tension_expanded_uncertainty_n",
    "coverage_factor", "flexible_tension_n", "flexible_tension_standard_uncertainty_n", "no_tension",
    "compared_value", "compared_standard_uncertainty", "compared_expanded_uncertainty",
    "verdict", "side", "conformance_probability", "span_model",
}  # fmt: skip


def flexible_tension_n(fundamental_hz: float) -> float:
    """T = 4·m·L²·f² of a span of 0.213 m and 0.165 kg/m, worked out here."""
    return 4 * 0.165 * 0.213**2 * fundamental_hz**2


def test_each_pluck_is_a_json_line_and_the_set_the_last(three_plucks: Path, tensionear: Tensionear) -> None:
    told = tensionear(
        "read", three_plucks, *SPAN, "--flexible", "--band-n", "300", "420", *VIBRATION, "--json"
    )
    assert told.code == 0
    assert [line["kind"] for line in told.lines] == ["begin", "pluck", "pluck", "pluck", "set"]
    for line, fundamental_hz, at_s in zip(
        told.of_kind("pluck"), (110.0, 110.3, 109.8), (1.5, 3.5, 5.5), strict=True
    ):
        assert set(line) == PLUCK_KEYS
        assert (line["source"], line["channel"]) == ("three plucks.flac", 1)
        assert line["at_s"] == pytest.approx(at_s, abs=0.02)
        assert (line["outcome"], line["reason"], line["explanation"]) == ("reading", None, None)
        assert line["fundamental_hz"] == pytest.approx(fundamental_hz, rel=1e-3)
        assert line["tension_n"] == pytest.approx(flexible_tension_n(line["fundamental_hz"]), rel=1e-12)
        assert (line["verdict"], line["side"], line["span_model"]) == ("in band", None, "flexible")


def test_the_set_is_formed_on_frequency(three_plucks: Path, tensionear: Tensionear) -> None:
    told = tensionear("read", three_plucks, *SPAN, "--flexible", "--band-hz", "100", "120", *SOURCE, "--json")
    readings_hz = [line["fundamental_hz"] for line in told.of_kind("pluck")]
    (together,) = told.of_kind("set")
    assert together["n_readings"] == 3
    assert together["n_refused"] == 0
    assert together["fundamental_hz"] == pytest.approx(np.mean(readings_hz), rel=1e-12)
    assert together["scatter_hz"] == pytest.approx(np.std(readings_hz, ddof=1), rel=1e-9)
    assert together["tension_n"] == pytest.approx(flexible_tension_n(together["fundamental_hz"]), rel=1e-12)
    assert together["verdict"] == "in band"
    assert together["band"] == {"lower": 100.0, "upper": 120.0, "unit": "Hz"}


def test_without_a_span_the_frequencies_are_told(three_plucks: Path, tensionear: Tensionear) -> None:
    told = tensionear("read", three_plucks, "--json")
    assert told.code == 0
    lines = [*told.of_kind("pluck"), *told.of_kind("set")]
    assert all(line["fundamental_hz"] > 0 for line in lines)
    assert all(line["tension_n"] is None and line["verdict"] is None for line in lines)
    assert all(line["span_model"] is None for line in told.lines)


def test_half_a_span_gives_frequencies_and_says_what_is_missing(
    three_plucks: Path, tensionear: Tensionear
) -> None:
    told = tensionear("read", three_plucks, "--span-length-mm", "213", "--json")
    assert told.code == 0
    assert "No tension can be told: add --linear-density-g-per-m." in told.err
    assert all(line["tension_n"] is None for line in [*told.of_kind("pluck"), *told.of_kind("set")])


def test_half_widths_are_taken_as_rectangular(three_plucks: Path, tensionear: Tensionear) -> None:
    within = ("--span-length-within-mm", "2", "--linear-density-within-percent", "3")
    told = tensionear("read", three_plucks, *SPAN, *within, "--flexible", "--json")
    (together,) = told.of_kind("set")
    assert together["span_length_standard_uncertainty_m"] == pytest.approx(0.002 / 3**0.5)
    assert together["linear_density_standard_uncertainty_kg_per_m"] == pytest.approx(0.165 * 0.03 / 3**0.5)
    for line in told.of_kind("pluck"):
        relative = (
            (2 * line["fundamental_standard_uncertainty_hz"] / line["fundamental_hz"]) ** 2
            + (2 * 2 / 213) ** 2 / 3
            + 0.03**2 / 3
        ) ** 0.5
        assert line["tension_expanded_uncertainty_n"] == pytest.approx(
            1.96 * relative * line["tension_n"], rel=1e-3
        )


@pytest.mark.parametrize(
    ("band_hz", "verdict", "side"),
    [
        (("50", "90"), "out of band", "high"),
        (("130", "150"), "out of band", "low"),
        (("110", "150"), "undecided", "low"),
        (("100", "120"), "in band", None),
    ],
)
def test_a_band_in_hertz_is_compared_with_the_fundamental(
    band_hz: tuple[str, str], verdict: str, side: str | None, three_plucks: Path, tensionear: Tensionear
) -> None:
    told = tensionear("read", three_plucks, "--band-hz", *band_hz, *SOURCE, "--json")
    (together,) = told.of_kind("set")
    assert (together["verdict"], together["side"]) == (verdict, side)


def test_files_given_together_are_one_set(three_plucks: Path, tmp_path: Path, tensionear: Tensionear) -> None:
    another = tmp_path / "another.wav"
    soundfile.write(another, plucks([110.1]), RATE_HZ)
    told = tensionear("read", three_plucks, another, "--json")
    assert [line["source"] for line in told.of_kind("pluck")] == [three_plucks.name] * 3 + ["another.wav"]
    (together,) = told.of_kind("set")
    assert together["n_readings"] == 4
    assert together["sources"] == [three_plucks.name, "another.wav"]


def test_the_table_has_a_row_for_each_pluck_and_says_how_it_is_meant(
    three_plucks: Path, tensionear: Tensionear
) -> None:
    told = tensionear("read", three_plucks, *SPAN, "--flexible", "--band-n", "300", "420", *VIBRATION)
    rows = [line for line in told.out.splitlines() if re.match(r" +\d+ +\d+\.\d\d s", line)]
    assert len(rows) == 3
    assert all(
        re.search(r"1(10|09)\.\d+ ± 0\.\d+ Hz +36\d\.?\d* ± \d+\.?\d* N .* in band$", row) for row in rows
    )
    assert "Span length 213 mm (within 1 mm), linear density 165 g/m (within 1.65 g/m)," in told.out
    assert "Compared: the tension of a flexible span, with 300 to 420 N." in told.out
    assert "verdict         IN BAND" in told.out
    assert "The span is taken as flexible:" in told.out
    assert len({row.index(" Hz") for row in rows}) == len({row.index(" N ") for row in rows}) == 1


def test_a_refused_pluck_is_told_with_what_to_do(tmp_path: Path, tensionear: Tensionear) -> None:
    clipped = tmp_path / "clipped.wav"
    soundfile.write(clipped, np.clip(plucks([110.0], level=6.0), -1.0, 1.0), RATE_HZ)
    told = tensionear("read", clipped)
    assert told.code == 3
    assert "refused: clipped" in told.out
    assert "No reading: 1 pluck was refused." in told.out
    (_, line, together) = tensionear("read", clipped, "--json").lines
    assert (line["outcome"], line["reason"], line["fundamental_hz"]) == ("refused", "clipped", None)
    assert line["explanation"] in " ".join(told.out.split())
    assert (together["n_readings"], together["n_refused"], together["fundamental_hz"]) == (0, 1, None)


def test_the_better_channel_is_chosen_and_said(tmp_path: Path, tensionear: Tensionear) -> None:
    good = plucks([110.0, 110.0])
    stereo = tmp_path / "stereo.wav"
    soundfile.write(stereo, np.column_stack([np.zeros_like(good), good]), RATE_HZ)
    told = tensionear("read", stereo, "--json")
    assert [line["channel"] for line in told.of_kind("pluck")] == [2, 2]
    assert "stereo.wav, channel 2" in tensionear("read", stereo).out


def test_pictures_are_numbered_like_the_rows(
    three_plucks: Path, tmp_path: Path, tensionear: Tensionear
) -> None:
    told = tensionear("read", three_plucks, "--picture", tmp_path / "seen.png")
    assert {path.name for path in tmp_path.iterdir()} == {"seen.png", "seen-2.png", "seen-3.png"}
    assert f"Pictures: {tmp_path / 'seen.png'} to seen-3.png" in told.err
