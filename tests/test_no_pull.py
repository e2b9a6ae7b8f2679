"""What is expected of a belt changes no reading: a prior would hide the belt that is set wrong."""

from collections.abc import Iterator

import pytest

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.comparison import ComparedQuantity, Comparison
from tensionear.reading import read_source
from tensionear.sound.block import SoundBlock
from tensionear.task import BeltTask
from tests.plain_pluck import RATE_HZ, plucks

FUNDAMENTALS_HZ = [61.3, 118.0, 236.5]


class _Recording:
    name = "plucks"
    sample_rate_hz = float(RATE_HZ)
    n_channels = 1

    def blocks(self) -> Iterator[SoundBlock]:
        yield SoundBlock(plucks(FUNDAMENTALS_HZ, noise=0.1)[:, None], 0)


def read_with(band: ToleranceBand | None) -> list[tuple[float, float]]:
    """Fundamentals and standard uncertainties of the plucks that are read."""
    comparison = None
    if band is not None:
        comparison = Comparison(ComparedQuantity.FREQUENCY, band, 0.0, None, True, "As a frequency.")
    readings = read_source(_Recording(), BeltTask(comparison=comparison))
    found = [reading.fundamental for reading in readings if reading.fundamental is not None]
    return [(fundamental.value, fundamental.standard_uncertainty) for fundamental in found]


@pytest.mark.parametrize("off", [0.5, 0.9, 0.99, 1.01, 1.1, 2.0])
def test_a_band_beside_the_truth_or_an_octave_off_changes_no_fundamental(off: float) -> None:
    without = read_with(None)
    assert len(without) == len(FUNDAMENTALS_HZ)
    for fundamental_hz in FUNDAMENTALS_HZ:
        band = ToleranceBand(0.98 * off * fundamental_hz, 1.02 * off * fundamental_hz, BandUnit.HERTZ)
        assert read_with(band) == without
