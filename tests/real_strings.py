"""Single notes of plucked instruments that nobody here made: fluid-soundfont-gm, played by fluidsynth.

The sound font (MIT licence) holds recordings of real instruments, tuned to a few cents. With pitch bend a
note may lie anywhere between the semitones; its nominal frequency is then 440 · 2^((pitch - 69)/12) Hz:
equal temperament, A4 = 440 Hz (ISO 16).
"""

import math
import subprocess
from dataclasses import dataclass
from pathlib import Path

import mido
import numpy as np
import soundfile

from dev import SOUND_FONT_PATTERNS

SAMPLE_RATE_HZ = 44100
BEFORE_S = 1.0
HELD_S = 4.0
NOTE_S = BEFORE_S + HELD_S + 1.0
# Faint enough for the softest note, and like nothing that rings.
NOISE_RMS = 1e-4

INSTRUMENTS = {
    24: "nylon guitar",
    25: "steel guitar",
    32: "acoustic bass",
    33: "finger bass",
    45: "pizzicato strings",
    46: "harp",
}


@dataclass(frozen=True)
class StringNote:
    """A note to pluck.

    Attributes
    ----------
    program : int
        General MIDI program, counted from 0.
    pitch : float
        MIDI note number, 69 is A4; not whole between the semitones.
    """

    program: int
    pitch: float

    @property
    def nominal_hz(self) -> float:
        """Frequency of the note in equal temperament. [Hz]"""
        return 440.0 * math.exp2((self.pitch - 69.0) / 12.0)

    def __str__(self) -> str:
        return f"{INSTRUMENTS[self.program]} at {self.nominal_hz:.2f} Hz"


def render(notes: list[StringNote], recording: Path) -> None:
    """Play the notes, `NOTE_S` apart, each `BEFORE_S` into its share, into a mono WAV file."""
    sound_font = next(path for pattern in SOUND_FONT_PATTERNS for path in Path("/usr").glob(pattern))
    score = recording.with_suffix(".mid")
    _write_score(notes, score)
    subprocess.run(
        [
            *("fluidsynth", "-n", "-i", "-q", "-R", "0", "-C", "0", "-r", str(SAMPLE_RATE_HZ)),
            *("-T", "wav", "-F", str(recording), str(sound_font), str(score)),
        ],
        check=True,
        capture_output=True,
    )
    stereo, _ = soundfile.read(recording, dtype="float32")
    noise = np.random.default_rng(len(notes)).normal(scale=NOISE_RMS, size=len(stereo))
    soundfile.write(recording, stereo.mean(axis=1) + noise, SAMPLE_RATE_HZ)


def _write_score(notes: list[StringNote], score: Path) -> None:
    ticks_per_s = 960  # two beats of 480 ticks, MIDI's tempo where none is given
    track = mido.MidiTrack()
    for note in notes:
        whole = round(note.pitch)
        bend = round((note.pitch - whole) / 2.0 * 8192)  # ± 2 semitones is General MIDI's range
        track.append(mido.Message("program_change", program=note.program))
        track.append(mido.Message("pitchwheel", pitch=bend))
        track.append(mido.Message("note_on", note=whole, velocity=100, time=round(BEFORE_S * ticks_per_s)))
        track.append(mido.Message("note_off", note=whole, time=round(HELD_S * ticks_per_s)))
        track.append(
            mido.MetaMessage("text", text="", time=round((NOTE_S - BEFORE_S - HELD_S) * ticks_per_s))
        )
    mido.MidiFile(tracks=[track], ticks_per_beat=480).save(score)
