"""Every demo recording: each fundamental read within 0.5 % or refused, and nothing else read."""

import json
from pathlib import Path

import pytest
import soundfile

from recordings_demo.make import FOLDER
from tensionear.pluck.listener import PluckListener
from tensionear.pluck.outcome import PluckReading

RECORDINGS = sorted(FOLDER.glob("*.flac"))
PASSES = ["over-tension", "run-in", "final-setting", "re-check"]


def heard(recording: Path) -> list[PluckReading]:
    sound, rate_hz = soundfile.read(recording, dtype="float32", always_2d=True)
    listener = PluckListener(rate_hz)
    # The last channel: of the one stereo recording, the one that is not dead.
    plucks = (*listener.hear(sound[:, -1].copy()), *listener.finish())
    return [pluck.outcome for pluck in plucks if isinstance(pluck.outcome, PluckReading)]


def truths(recording: Path) -> list[tuple[float, float]]:
    plucks = json.loads(recording.with_suffix(".json").read_text(encoding="utf-8"))["plucks"]
    return [(pluck["at_s"], pluck["fundamental_hz"]) for pluck in plucks]


@pytest.mark.parametrize("recording", RECORDINGS, ids=lambda path: path.stem)
def test_no_reading_is_wrong(recording: Path) -> None:
    for reading in heard(recording):
        at_s, fundamental_hz = min(truths(recording), key=lambda truth: abs(truth[0] - reading.at_s))
        assert reading.at_s == pytest.approx(at_s, abs=0.1), (
            f"read {reading.fundamental_hz:.1f} Hz, no pluck there"
        )
        assert reading.fundamental_hz == pytest.approx(fundamental_hz, rel=0.005)


@pytest.mark.parametrize("name", PASSES)
def test_every_pluck_of_a_pass_is_read_once(name: str) -> None:
    recording = FOLDER / f"{name}.flac"
    expected_s = [at_s for at_s, _ in truths(recording)]
    assert [reading.at_s for reading in heard(recording)] == pytest.approx(expected_s, abs=0.1)
