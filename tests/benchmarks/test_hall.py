"""The sounds of a hall without a pluck, as far as they need no other program."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from benchmarks.hall import Piece, sound_of
from benchmarks.hall.machines import air_gun, compressor, cranking, grinder, impact_wrench
from benchmarks.hall.mains import switched_hum

RATE_HZ = 48000


def test_a_piece_is_the_same_whenever_it_is_made_and_another_when_held_out() -> None:
    first = sound_of(Piece("pink noise", 3, held_out=False))
    assert np.array_equal(first, sound_of(Piece("pink noise", 3, held_out=False)))
    assert not np.array_equal(first, sound_of(Piece("pink noise", 3, held_out=True)))
    assert len(first) == 60 * RATE_HZ
    assert 0 < np.max(np.abs(first)) <= 1


def test_a_scene_that_is_not_there_is_refused() -> None:
    with pytest.raises(ValueError, match="no scene 'jazz': choose from hum"):
        sound_of(Piece("jazz", 0, held_out=False))


@pytest.mark.parametrize("make", [air_gun, compressor, cranking, grinder, impact_wrench])
@pytest.mark.parametrize("seed", range(3))
def test_machines_begin_and_end_in_silence(
    make: Callable[[np.random.Generator, int], NDArray[np.float64]], seed: int
) -> None:
    sound = make(np.random.default_rng(seed), RATE_HZ)
    assert np.max(np.abs(sound)) == pytest.approx(1)
    assert np.std(sound[-480:]) < 0.25


def test_switched_hum_lies_on_multiples_of_the_mains() -> None:
    sound = switched_hum(np.random.default_rng(2), 20 * RATE_HZ, RATE_HZ)
    power = np.abs(np.fft.rfft(sound * np.hanning(len(sound)))) ** 2
    frequency_hz = np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    near = [
        np.sum(power[np.abs(frequency_hz - mains_hz * np.round(frequency_hz / mains_hz)) < 1])
        for mains_hz in (50, 60)
    ]
    assert max(near) > 0.98 * np.sum(power)
