import math
import re

import pytest

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.errors import InputError


@pytest.mark.parametrize(
    ("lower", "upper", "unit", "message"),
    [
        (460, 380, "N", "lower band limit 460 N is above upper band limit 380 N: is the band upside down?"),
        (95, 85, "Hz", "lower band limit 95 Hz is above upper band limit 85 Hz: is the band upside down?"),
        (380, 380, "N", "the band from 380 N to 380 N has no width: was the same limit entered twice?"),
        (0.38, 0.46, "N", "band limit 0.38 N is less than 5 N: was it entered in kilonewtons?"),
        (380, 460000, "N", "band limit 460000 N is more than 20000 N: was a digit lost or added?"),
        (0, 460, "N", "band limit 0 N must be above 0 N: was it left empty?"),
        (-380, 460, "N", "band limit -380 N is negative: was a minus sign entered by mistake?"),
        (
            380,
            math.inf,
            "N",
            "band limit inf N is not a finite number: was something else than digits entered?",
        ),
        (
            math.nan,
            460,
            "N",
            "band limit nan N is not a finite number: was something else than digits entered?",
        ),
        (0.085, 0.095, "Hz", "band limit 0.085 Hz is less than 20 Hz: was it entered in kilohertz?"),
        (5100, 5700, "Hz", "band limit 5100 Hz is more than 600 Hz: was it entered in cycles per minute?"),
        (580, 760, "Hz", "band limit 760 Hz is more than 600 Hz: is it a band in newtons?"),
    ],
)
def test_band_guesses_the_slip(lower: float, upper: float, unit: str, message: str) -> None:
    with pytest.raises(InputError, match=f"^{re.escape(message)}$"):
        ToleranceBand(lower, upper, BandUnit(unit))


@pytest.mark.parametrize(("lower", "upper", "unit"), [(380, 460, "N"), (5, 20000, "N"), (20, 600, "Hz")])
def test_plausible_band_is_taken(lower: float, upper: float, unit: str) -> None:
    band = ToleranceBand(lower, upper, BandUnit(unit))
    assert (band.lower, band.upper, band.unit) == (lower, upper, unit)


def test_nominal_value_and_tolerance_make_the_same_band_absolute_or_in_per_cent() -> None:
    band = ToleranceBand(380, 420, BandUnit.NEWTON)
    assert ToleranceBand.about(400, 20, BandUnit.NEWTON) == band
    assert ToleranceBand.about_percent(400, 5, BandUnit.NEWTON) == band


@pytest.mark.parametrize("half_width", [0, -20, 400, 420, math.nan])
def test_tolerance_that_makes_no_band_is_refused(half_width: float) -> None:
    with pytest.raises(InputError, match="are they exchanged, or is it the upper limit"):
        ToleranceBand.about(400, half_width, BandUnit.NEWTON)


@pytest.mark.parametrize("percent", [0, -5, 60, math.nan])
def test_per_cent_that_make_no_band_are_refused(percent: float) -> None:
    with pytest.raises(InputError, match="were Hz entered for per cent"):
        ToleranceBand.about_percent(100, percent, BandUnit.HERTZ)
