"""The demo recordings: all described, all invented, small, and made by the script that says so."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from recordings_demo import make, plan

RECORDINGS = sorted(make.FOLDER.glob("*.flac"))


def described(recording: Path) -> dict[str, Any]:
    content: dict[str, Any] = json.loads(recording.with_suffix(".json").read_text(encoding="utf-8"))
    return content


def test_every_planned_recording_is_there_and_no_other() -> None:
    assert {path.stem for path in RECORDINGS} == {
        planned.name for planned in (*plan.PASSES, *plan.HARD_CASES)
    }


@pytest.mark.parametrize("recording", RECORDINGS, ids=lambda path: path.stem)
def test_a_description_marked_invented_tells_how_it_was_made_and_the_truth(recording: Path) -> None:
    content = described(recording)
    assert content["invented"] is True
    assert content["engine"].startswith("Invented")
    assert content["belt"].startswith("Invented")
    assert content["expected"]
    assert content["made"]["by"] == "python -m recordings_demo.make"
    assert isinstance(content["made"]["seed"], int)
    info = soundfile.info(recording)
    assert (info.samplerate, info.channels) == (
        content["made"]["sample_rate_hz"],
        content["made"]["n_channels"],
    )
    assert info.subtype == "PCM_16"
    for pluck in content["plucks"]:
        assert 0 < pluck["at_s"] < info.duration
        assert 20 < pluck["fundamental_hz"] < 600


def test_the_recordings_are_small() -> None:
    assert sum(path.stat().st_size for path in RECORDINGS) < 10e6


def test_the_job_on_disk_is_the_planned_one() -> None:
    assert json.loads((make.FOLDER / "job.json").read_text(encoding="utf-8")) == make.job()


def test_the_true_flexible_tension_of_each_pass_has_its_expected_verdict() -> None:
    for planned in plan.PASSES:
        if planned.band_n is None:
            continue
        lower_n, upper_n = planned.band_n
        truths = [
            p["flexible_span_tension_n"] for p in described(make.FOLDER / f"{planned.name}.flac")["plucks"]
        ]
        assert planned.expected_verdict == "in band"
        # 3 % inside the limits: more than a careful measurement's expanded uncertainty.
        assert all(lower_n * 1.03 < tension_n < upper_n * 0.97 for tension_n in truths)


def test_tension_falls_with_every_turn_of_run_in() -> None:
    tensions = [pluck["static_tension_n"] for pluck in described(make.FOLDER / "run-in.flac")["plucks"]]
    assert tensions == sorted(tensions, reverse=True)


@pytest.mark.parametrize("planned", [plan.PASSES[2], plan.HARD_CASES[5]], ids=lambda planned: planned.name)
def test_making_a_recording_again_gives_the_same_samples(planned: plan.PlannedRecording) -> None:
    made, truth = make.make_recording(planned)
    stored, _ = soundfile.read(make.FOLDER / f"{planned.name}.flac", dtype="float32", always_2d=True)
    # Two steps of 16 bits: other processors and libraries round the last bit otherwise.
    np.testing.assert_allclose(made, stored, atol=2.1 / 32768)
    assert json.loads(json.dumps(truth)) == described(make.FOLDER / f"{planned.name}.flac")
