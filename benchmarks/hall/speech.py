"""Invented talk, spoken by espeak-ng (Debian's package of that name) in many voices."""

import subprocess
import tempfile
from pathlib import Path

import numpy as np
import scipy.signal
import soundfile

from benchmarks.simulator import noise
from benchmarks.simulator.noise import Sound

VOICES = ("en-gb", "en-us", "de", "fr-fr", "es", "it", "pl", "pt", "nl", "sv")
VARIANTS = ("m1", "m2", "m3", "m4", "m7", "f1", "f2", "f3", "f4", "croak", "klatt2")
SENTENCES = (
    "Hand me the long one, no, the other long one.",
    "Who moved my lamp?",
    "Two more turns, then we stop and look again.",
    "Hello!",
    "The kettle is on, and the post has come.",
    "Well, it was humming a bit on the hill, but only on the hill.",
    "No no no, leave it, leave it, leave it.",
    "Ooh, mama, what a morning.",
    "Bring the crane over here, slowly, slowly, good.",
    "Nine, eleven, fourteen, that will do.",
    "I told them on Monday and I am telling them again.",
    "Mind your head!",
    "Yes. No. Maybe on Wednesday.",
    "Somebody close the door, there is a draught in here.",
)


def speech(rng: np.random.Generator, n: int, sample_rate_hz: int) -> Sound:
    """Let one to three people talk, each for himself, with pauses.

    Raises
    ------
    FileNotFoundError
        If espeak-ng is not installed.
    subprocess.CalledProcessError
        If it fails.
    """
    sound = np.zeros(n)
    for _ in range(rng.integers(1, 4)):
        voice = f"{rng.choice(VOICES)}+{rng.choice(VARIANTS)}"
        pitch, distance = int(rng.integers(10, 90)), rng.uniform(-15, 0)
        start = int(rng.uniform(0, 3) * sample_rate_hz)
        while start < n:
            sentences = rng.choice(SENTENCES, size=rng.integers(1, 4), replace=False)
            spoken = _spoken(" ".join(sentences), voice, pitch, int(rng.integers(110, 220)), sample_rate_hz)
            noise.add(sound, start, 10 ** ((distance + rng.uniform(-6, 0)) / 20) * spoken)
            start += len(spoken) + int(rng.exponential(1.5) * sample_rate_hz)
    return sound


def _spoken(text: str, voice: str, pitch: int, words_a_minute: int, sample_rate_hz: int) -> Sound:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "spoken.wav"
        subprocess.run(
            ["espeak-ng", "-v", voice, "-p", str(pitch), "-s", str(words_a_minute), "-w", str(path), text],
            check=True,
            capture_output=True,
        )
        spoken, rate_hz = soundfile.read(path)
    return np.asarray(scipy.signal.resample_poly(spoken, sample_rate_hz, rate_hz))
