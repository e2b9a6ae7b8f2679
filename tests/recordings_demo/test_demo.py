"""The demo says what was heard and what is true, and hides no wrong reading."""

import json
from pathlib import Path

import numpy as np
import pytest

from recordings_demo import demo
from tensionear.job.verification.verifying import Finding, Matter, Verification, verify_bundle
from tensionear.pluck.listener import HeardPluck
from tensionear.pluck.outcome import PluckClip, PluckReading, PluckRefusal, RefusalReason
from tensionear.reading import BeltReading, read_pluck
from tensionear.task import BeltTask

CLIP = PluckClip(np.zeros(1, np.float32), 48000.0, 0)
TRUTH = {"at_s": 1.5, "fundamental_hz": 100.0}


def reading(fundamental_hz: float) -> BeltReading:
    outcome = PluckReading(1.5, fundamental_hz, 0.05, 0.2, 30.0, 0.9, 0.0, 0.0, (), ())
    return read_pluck("invented", 1, HeardPluck(CLIP, outcome), BeltTask())


@pytest.mark.parametrize(
    ("fundamental_hz", "truth"), [(100.6, TRUTH), (99.4, TRUTH), (200.0, TRUTH), (100.0, None)]
)
def test_a_reading_that_is_off_or_has_no_pluck_is_called_wrong(
    fundamental_hz: float, truth: dict[str, float] | None
) -> None:
    tally = demo.Tally()
    assert demo.row(reading(fundamental_hz), truth, tally).endswith("WRONG")
    assert (tally.n_right, tally.n_wrong, tally.n_refused) == (0, 1, 0)


def test_a_reading_within_half_a_per_cent_is_right_and_shown_beside_the_truth() -> None:
    tally = demo.Tally()
    row = demo.row(reading(100.4), TRUTH, tally)
    assert "100.400 ± 0.098 Hz" in row
    assert "true  100.00 Hz  off +0.40%" in row
    assert "WRONG" not in row
    assert (tally.n_right, tally.n_wrong, tally.n_refused) == (1, 0, 0)


def test_a_refusal_is_shown_with_its_reason() -> None:
    tally = demo.Tally()
    refusal = PluckRefusal(1.5, RefusalReason.CLIPPED, "Pluck more gently.")
    refused = read_pluck("invented", 1, HeardPluck(CLIP, refusal), BeltTask())
    assert "refused: clipped" in demo.row(refused, TRUTH, tally)
    assert (tally.n_right, tally.n_wrong, tally.n_refused) == (0, 0, 1)


@pytest.fixture
def in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The demo without its hard cases, which takes place in a folder of its own."""
    job = json.loads((demo.FOLDER / "job.json").read_text(encoding="utf-8"))
    job["hard_cases"] = []
    for recording in demo.FOLDER.glob("*"):
        if recording.suffix in (".flac", ".json"):
            (tmp_path / recording.name).write_bytes(recording.read_bytes())
    (tmp_path / "job.json").write_text(json.dumps(job), encoding="utf-8")
    monkeypatch.setattr(demo, "FOLDER", tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_demo_does_the_job_and_leaves_a_record_that_proves_it(
    in_a_folder_of_its_own: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert demo.main() == 0
    said = capsys.readouterr().out
    assert "Invented. No engine, belt or specification here is real" in said
    assert "20 readings within 0.5% of the true fundamental, 0 wrong, 0 refused." in said
    assert "verdict   IN BAND, from 600 to 760 N; expected: in band" in said
    assert said.count("verdict   IN BAND, from 380 to 460 N; expected: in band") == 2
    assert "The belt fell 13 % in run-in" in said
    assert "Checked anew: nothing was changed" in said
    assert "the sound of 20 plucks was read again" in " ".join(said.split())
    output = in_a_folder_of_its_own / "demo_output"
    assert str(output / "record.zip") in said
    assert "Turn the engine by hand only" in said
    checked = verify_bundle(demo.BUNDLE)
    assert checked.findings == ()
    assert checked.record is not None
    assert checked.record.is_demonstration
    assert {path.name for path in output.iterdir()} == {
        "archive.sqlite", "record.zip",
        "over-tension.png", "run-in.png", "final-setting.png", "re-check.png",
    }  # fmt: skip


@pytest.mark.usefixtures("in_a_folder_of_its_own")
def test_the_demo_replaces_an_older_one_and_fails_if_its_record_proves_nothing(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    demo.OUTPUT.mkdir()
    for old in (demo.ARCHIVE, demo.BUNDLE):
        old.write_bytes(b"of an older demonstration")
    changed = Verification((Finding(Matter.RECORD, "something was changed"),), None, None, 0)
    monkeypatch.setattr(demo, "verify_bundle", lambda _: changed)
    assert demo.main() == 1
    assert "it is NOT as it was: something was changed" in capsys.readouterr().out
    assert verify_bundle(demo.BUNDLE).findings == ()
