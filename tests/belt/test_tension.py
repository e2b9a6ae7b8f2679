import ast
import csv
import math
import re
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tensionear.belt.tension import fundamental_frequency, static_tension
from tensionear.errors import InputError

FUNDAMENTALS_HZ = st.floats(20, 600)
SPAN_LENGTHS_M = st.floats(0.04, 5)
LINEAR_DENSITIES_KG_PER_M = st.floats(0.01, 5)


class TestPublishedStrings:
    """OpenStax, University Physics Volume 1, chapter 16 (examples and problems of 16.3 and 16.6)."""

    def test_wave_speed_of_the_first_guitar_string(self) -> None:
        # The wave runs along a span of half a metre and back once a period: hertz equal metres per second.
        assert fundamental_frequency(56.40, 0.5, 3.09e-4) == pytest.approx(427.23, abs=0.01)

    def test_tension_of_the_thicker_guitar_string_at_the_same_wave_speed(self) -> None:
        assert static_tension(427.23, 0.5, 5.78e-3) == pytest.approx(1055.00, abs=0.02)

    def test_tension_from_neighbouring_resonances(self) -> None:
        # 400 Hz and 480 Hz are neighbours, so the fundamental is 80 Hz. The book prints 245.76 N, which is a
        # slip of ten: 0.006 kg/m times the square of 640 m/s is 2457.6 N.
        assert static_tension(480 - 400, 4, 0.006) == pytest.approx(2457.6, rel=1e-12)

    @pytest.mark.parametrize(("partial", "frequency_hz"), [(1, 43.03), (2, 86.07), (3, 129.10), (4, 172.13)])
    def test_modes_of_the_string_between_posts(self, partial: int, frequency_hz: float) -> None:
        fundamental_hz = fundamental_frequency(200, 3, 0.0090 / 3)
        assert partial * fundamental_hz == pytest.approx(frequency_hz, abs=0.006)
        assert 2 * 3 * fundamental_hz == pytest.approx(258.20, abs=0.006)

    def test_fifth_mode(self) -> None:
        fundamental_hz = fundamental_frequency(90, 3.5, 0.005)
        assert 2 * 3.5 * fundamental_hz == pytest.approx(134.16, abs=0.006)
        assert 5 * fundamental_hz == pytest.approx(95.83, abs=0.006)


SEMITONES_ABOVE_C = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
METRE_PER_INCH = 0.0254
KILOGRAM_PER_POUND = 0.45359237
NEWTON_PER_POUND_FORCE = KILOGRAM_PER_POUND * 9.80665
GUITAR_SCALE_M = 25.5 * METRE_PER_INCH


def _pitch_hz(name: str) -> float:
    """Return the equal-tempered frequency of a note such as ``F#3``; A4 is 440 Hz."""
    letter, sharp, octave = re.fullmatch(r"([A-G])(#?)(\d)", name).groups()  # type: ignore[union-attr]
    semitones = SEMITONES_ABOVE_C[letter] + len(sharp) + 12 * (int(octave) - 4) - SEMITONES_ABOVE_C["A"]
    return 440 * math.exp2(semitones / 12)


def test_static_tension_agrees_with_a_string_makers_table() -> None:
    """Check the D'Addario tension table, as carried by the PyPI package `stringcalc`.

    The table is for a scale of 25.5 inches, which it does not state: all guitar rows imply it but those of
    the pedal steel, whose scale is shorter. Tensions are given to 0.1 lbf, unit weights to four figures.
    """
    with files("stringcalc.data").joinpath("daddario-tension.csv").open(encoding="utf-8") as table:
        strings = [
            string
            for string in csv.DictReader(table)
            if string["category"].endswith("Guitar") and "Bass" not in string["category"]
            if string["category"] != "Pedal Steel Guitar" and string["uw"]
        ]
    n_rows = 0
    for string in strings:
        linear_density_kg_per_m = float(string["uw"]) * KILOGRAM_PER_POUND / METRE_PER_INCH
        for note, tension_lbf in zip(
            ast.literal_eval(string["notes"]), ast.literal_eval(string["tens"]), strict=True
        ):
            if tension_lbf is None:
                continue
            tension_n = static_tension(_pitch_hz(note), GUITAR_SCALE_M, linear_density_kg_per_m)
            shown_lbf = tension_n / NEWTON_PER_POUND_FORCE
            assert abs(shown_lbf - tension_lbf) <= 0.05 + 0.002 * tension_lbf, (string["id"], note)
            n_rows += 1
    assert n_rows == 2685


@given(FUNDAMENTALS_HZ, SPAN_LENGTHS_M, LINEAR_DENSITIES_KG_PER_M)
def test_frequency_comes_back_from_its_own_tension(
    fundamental_hz: float, span_length_m: float, linear_density_kg_per_m: float
) -> None:
    tension_n = static_tension(fundamental_hz, span_length_m, linear_density_kg_per_m)
    again_hz = fundamental_frequency(tension_n, span_length_m, linear_density_kg_per_m)
    assert again_hz == pytest.approx(fundamental_hz, rel=4e-16 * 4)


@given(FUNDAMENTALS_HZ, SPAN_LENGTHS_M, LINEAR_DENSITIES_KG_PER_M)
def test_tension_scales_as_its_dimensions_demand(
    fundamental_hz: float, span_length_m: float, linear_density_kg_per_m: float
) -> None:
    # Doubling is exact in binary floating point, so these hold to the last bit.
    tension_n = static_tension(fundamental_hz, span_length_m, linear_density_kg_per_m)
    assert static_tension(2 * fundamental_hz, span_length_m, linear_density_kg_per_m) == 4 * tension_n
    assert static_tension(fundamental_hz, 2 * span_length_m, linear_density_kg_per_m) == 4 * tension_n
    assert static_tension(fundamental_hz, span_length_m, 2 * linear_density_kg_per_m) == 2 * tension_n


@given(FUNDAMENTALS_HZ, SPAN_LENGTHS_M, LINEAR_DENSITIES_KG_PER_M, st.floats(1.0001, 10))
def test_tension_rises_with_each_argument(
    fundamental_hz: float, span_length_m: float, linear_density_kg_per_m: float, more: float
) -> None:
    tension_n = static_tension(fundamental_hz, span_length_m, linear_density_kg_per_m)
    assert static_tension(more * fundamental_hz, span_length_m, linear_density_kg_per_m) > tension_n
    assert static_tension(fundamental_hz, more * span_length_m, linear_density_kg_per_m) > tension_n
    assert static_tension(fundamental_hz, span_length_m, more * linear_density_kg_per_m) > tension_n


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
@pytest.mark.parametrize(
    ("place", "quantity"), [(0, "fundamental"), (1, "span length"), (2, "linear density")]
)
def test_static_tension_names_what_it_cannot_use(place: int, quantity: str, bad: float) -> None:
    arguments = [100.0, 0.2, 0.1]
    arguments[place] = bad
    with pytest.raises(InputError, match=rf"^{quantity} .*(above 0|negative|finite)"):
        static_tension(*arguments)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
@pytest.mark.parametrize(("place", "quantity"), [(0, "tension"), (1, "span length"), (2, "linear density")])
def test_fundamental_frequency_names_what_it_cannot_use(place: int, quantity: str, bad: float) -> None:
    arguments = [400.0, 0.2, 0.1]
    arguments[place] = bad
    with pytest.raises(InputError, match=rf"^{quantity} .*(above 0|negative|finite)"):
        fundamental_frequency(*arguments)
