"""Pieces of sound without a pluck, each drawn from a seed of its own, so that any can be made again.

A piece lasts `PIECE_S`. It is heard through a room and a microphone like the simulated plucks (a third of the
microphones roll off like a phone's), over a faint background noise, at a gain that may clip nothing.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from benchmarks.hall.machines import machines
from benchmarks.hall.mains import switched_hum
from benchmarks.hall.music import music
from benchmarks.hall.speech import speech
from benchmarks.simulator import air, noise
from benchmarks.simulator.noise import Sound

SCENES = ("hum", "pink noise", "clanks", "speech", "music", "machines", "all together")
PIECE_S = 60.0
SAMPLE_RATE_HZ = 48000


@dataclass(frozen=True)
class Piece:
    """Which piece of sound: enough to make it again with `sound_of`."""

    scene: str
    number: int
    held_out: bool


def sound_of(piece: Piece) -> NDArray[np.float32]:
    """Make a piece of sound; full scale 1, shape (n,).

    Raises
    ------
    ValueError
        If there is no such scene.
    """
    if piece.scene not in SCENES:
        raise ValueError(f"no scene {piece.scene!r}: choose from {', '.join(SCENES)}")
    rng = np.random.default_rng((int(piece.held_out), SCENES.index(piece.scene), piece.number))
    n = round(PIECE_S * SAMPLE_RATE_HZ)
    corner_hz, order = (rng.uniform(10, 40), 1) if rng.uniform() < 2 / 3 else (rng.uniform(100, 250), 3)
    sound = np.zeros(n)
    parts = SCENES[:-1] if piece.scene == SCENES[-1] else (piece.scene,)
    for part in parts:
        share = 10 ** (rng.uniform(-10, 10) / 20) if len(parts) > 1 else 1.0
        sound += share * _heard(rng, part, n)
    background = noise.coloured(rng, n, SAMPLE_RATE_HZ, rng.uniform(0.0, 1.2))
    background /= np.sqrt(noise.band_power(background, SAMPLE_RATE_HZ))
    sound += 10 ** (rng.uniform(-50, -25) / 20) * background
    sound = air.through_microphone(sound, corner_hz, order, SAMPLE_RATE_HZ)
    gain = 10 ** (rng.uniform(-30, -1) / 20) / float(np.max(np.abs(sound)))
    return air.digitised(sound, gain)


def _heard(rng: np.random.Generator, scene: str, n: int) -> Sound:
    """Make the sound of one scene in its room, its mean square 1 within the band of belts."""
    match scene:
        case "hum":
            sound = switched_hum(rng, n, SAMPLE_RATE_HZ)
        case "pink noise":
            sound = noise.coloured(rng, n, SAMPLE_RATE_HZ, 1.0)
        case "clanks":
            sound = _through_room(rng, clanks_in_a_row(rng, n))
        case "speech":
            sound = _through_room(rng, speech(rng, n, SAMPLE_RATE_HZ))
        case "music":
            sound = _through_room(rng, music(rng, n, SAMPLE_RATE_HZ))
        case _:
            sound = _through_room(rng, machines(rng, n, SAMPLE_RATE_HZ))
    return np.asarray(sound / np.sqrt(noise.band_power(sound, SAMPLE_RATE_HZ)))


def clanks_in_a_row(rng: np.random.Generator, n: int) -> Sound:
    """Strike metal and drop tools, some of which bounce, about once a second."""
    sound = np.zeros(n)
    start_s = rng.exponential(1.0)
    while start_s < n / SAMPLE_RATE_HZ:
        hit = noise.ringing_hit(rng, SAMPLE_RATE_HZ, SAMPLE_RATE_HZ)
        level = 10 ** (rng.uniform(-30, 0) / 20)
        bounce_s = rng.uniform(0.05, 0.4)
        for _ in range(rng.integers(2, 7) if rng.uniform() < 0.3 else 1):
            noise.add(sound, min(n, int(start_s * SAMPLE_RATE_HZ)), level * hit)
            start_s += bounce_s
            level, bounce_s = 0.7 * level, 0.7 * bounce_s
        start_s += rng.exponential(0.8)
    return sound


def _through_room(rng: np.random.Generator, sound: Sound) -> Sound:
    # What is not the belt is farther away than the belt: mostly beyond the critical distance.
    response = air.room_response(rng, rng.uniform(0.3, 2.0), rng.uniform(-3, 15), SAMPLE_RATE_HZ)
    return air.through_room(sound, response)
