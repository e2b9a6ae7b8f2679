"""Invented tunes on instruments that hold their notes, played by fluidsynth with FluidR3_GM.sf2.

Plucked and struck instruments are left out: a string that is plucked may well be read.
"""

import subprocess
import tempfile
from pathlib import Path

import mido
import numpy as np
import soundfile

from benchmarks.simulator.noise import Sound
from dev import SOUND_FONT_PATTERNS

PROGRAMS = {
    "organ": (16, 18, 19, 20, 21),
    "strings": (40, 41, 42, 43, 48, 49, 50),
    "flute": (68, 71, 72, 73, 75),
    "voice": (52, 53, 54),
    "brass": (56, 57, 58, 60, 61, 65),
}
"""General MIDI programs, counted from 0, by family."""

_TICKS_PER_S = 960  # two beats of 480 ticks, MIDI's tempo where none is given
_SCALES = ((0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 10), (0, 2, 4, 7, 9))


def music(rng: np.random.Generator, n: int, sample_rate_hz: int) -> Sound:
    """Play a piece of one to four voices in one key, each wandering about its own scale.

    Raises
    ------
    FileNotFoundError
        If fluidsynth is not installed.
    StopIteration
        If the sound font is not installed.
    subprocess.CalledProcessError
        If fluidsynth fails.
    """
    sound_font = next(path for pattern in SOUND_FONT_PATTERNS for path in Path("/usr").glob(pattern))
    with tempfile.TemporaryDirectory() as folder:
        score, path = Path(folder) / "tune.mid", Path(folder) / "tune.wav"
        _tune(rng, n / sample_rate_hz).save(score)
        subprocess.run(
            [
                *("fluidsynth", "-n", "-i", "-q", "-r", str(sample_rate_hz)),
                *("-T", "wav", "-F", str(path), str(sound_font), str(score)),
            ],
            check=True,
            capture_output=True,
        )
        stereo, _ = soundfile.read(path)
    sound = np.zeros(n)
    played = stereo.mean(axis=1)[:n]
    sound[: len(played)] = played
    return sound


def _tune(rng: np.random.Generator, length_s: float) -> mido.MidiFile:
    midi = mido.MidiFile(ticks_per_beat=480)
    scale, key = _SCALES[rng.integers(len(_SCALES))], int(rng.integers(12))
    beat_s = 60 / rng.uniform(60, 150)
    for channel in range(rng.integers(1, 5)):
        family = rng.choice(list(PROGRAMS))
        track = mido.MidiTrack()
        track.append(
            mido.Message("program_change", channel=channel, program=int(rng.choice(PROGRAMS[family])))
        )
        # From a bass at 41 Hz to a soprano at 1 kHz.
        step, lowest = int(rng.integers(0, 8)), 28 + key + 12 * int(rng.integers(0, 4))
        at_s, rest = 0.0, 0
        while at_s < length_s:
            step = int(np.clip(step + rng.integers(-3, 4), -2, 14))
            note = lowest + 12 * (step // len(scale)) + scale[step % len(scale)]
            held_s = beat_s * float(rng.choice([0.25, 0.5, 1.0, 1.0, 2.0, 4.0]))
            ticks = round(held_s * _TICKS_PER_S)
            sounding = round(ticks * rng.uniform(0.5, 1.0))
            velocity = int(rng.integers(50, 115))
            track.append(mido.Message("note_on", channel=channel, note=note, velocity=velocity, time=rest))
            track.append(mido.Message("note_off", channel=channel, note=note, time=sounding))
            pause_s = beat_s * float(rng.choice([0.0, 0.0, 0.0, 1.0, 2.0]))
            rest = ticks - sounding + round(pause_s * _TICKS_PER_S)
            at_s += held_s + pause_s
        midi.tracks.append(track)
    return midi
