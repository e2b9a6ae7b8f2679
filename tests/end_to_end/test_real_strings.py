"""Strings that nobody here made or simulated: recordings of real instruments, their tuning as the truth."""

import json
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from tests.needs import need
from tests.real_strings import BEFORE_S, NOTE_S, StringNote, render

# Lowest and highest of the twelve notes of each instrument, as MIDI note numbers: 31.8 to 349 Hz, what the
# instrument can play and a little below. Equal steps between them lie off the semitones.
COMPASS = {
    24: (40.0, 65.0),
    25: (40.0, 65.0),
    32: (23.5, 50.0),
    33: (23.5, 50.0),
    45: (36.0, 65.0),
    46: (24.0, 65.0),
}
NOTES = {
    program: [StringNote(program, pitch) for pitch in np.linspace(lowest, highest, 12).tolist()]
    for program, (lowest, highest) in COMPASS.items()
}

# The sound font is in tune to a few cents, a section of players less so: 1.5 % is 26 cents.
WITHIN = 0.015
OCTAVE_OR_TWELFTH = [2.0, 3.0, 4.0, 1 / 2, 1 / 3, 1 / 4]


@pytest.fixture(scope="module")
def readings_hz(tmp_path_factory: pytest.TempPathFactory) -> dict[StringNote, list[float]]:
    """What `tensionear read` finds in each note's share of the recordings; an empty list for a refusal."""
    need("fluidsynth", "FluidR3_GM.sf2")
    folder = tmp_path_factory.mktemp("real_strings")
    with ThreadPoolExecutor(os.cpu_count()) as several:
        found = several.map(lambda program: readings_of(NOTES[program], folder / f"{program}.wav"), NOTES)
        return {note: hz for share in found for note, hz in share.items()}


def readings_of(notes: list[StringNote], recording: Path) -> dict[StringNote, list[float]]:
    render(notes, recording)
    answer = subprocess.run(
        [sys.executable, "-m", "tensionear", "read", "--json", str(recording)],
        # One of these runs on each core already: threads of the linear algebra would be in each other's way.
        env=os.environ | {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
    )
    readings: dict[StringNote, list[float]] = {note: [] for note in notes}
    for line in map(json.loads, answer.stdout.splitlines()):
        if line.get("outcome") == "reading":
            readings[notes[int((line["at_s"] - BEFORE_S / 2) // NOTE_S)]].append(line["fundamental_hz"])
    assert answer.returncode == 0, answer.stderr
    return readings


def test_nineteen_of_twenty_real_strings_are_read_within_their_tuning(
    readings_hz: dict[StringNote, list[float]],
) -> None:
    missed = [
        f"{note}: {read or 'refused'}"
        for note, read in readings_hz.items()
        if not read or any(abs(hz / note.nominal_hz - 1.0) > WITHIN for hz in read)
    ]
    assert len(readings_hz) >= 60
    assert len(missed) <= 0.05 * len(readings_hz), "\n".join(missed)


def test_no_real_string_is_read_an_octave_off(readings_hz: dict[StringNote, list[float]]) -> None:
    off = [
        f"{note}: {hz:.2f} Hz"
        for note, read in readings_hz.items()
        for hz in read
        if any(abs(hz / note.nominal_hz / ratio - 1.0) < 2 * WITHIN for ratio in OCTAVE_OR_TWELFTH)
    ]
    assert off == []
