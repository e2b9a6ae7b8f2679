"""What the tests of the command line share."""

from pathlib import Path

import pytest
import soundfile

from tensionear.cli import main
from tensionear.pluck.estimator import read_clip
from tensionear.pluck.outcome import PluckClip, PluckOutcome
from tests.cli.command import Tensionear, Told
from tests.plain_pluck import RATE_HZ, plucks


@pytest.fixture
def tensionear(capsys: pytest.CaptureFixture[str]) -> Tensionear:
    """Run a command in this process."""

    def run(*arguments: object) -> Told:
        with pytest.raises(SystemExit) as ended:
            main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return Told(ended.value.code, out, err)

    return run


@pytest.fixture(scope="session")
def known_outcomes() -> dict[bytes, PluckOutcome]:
    """What became of the clips that were read so far."""
    return {}


@pytest.fixture(autouse=True)
def clips_are_read_once(known_outcomes: dict[bytes, PluckOutcome], monkeypatch: pytest.MonkeyPatch) -> None:
    """Save time: many of these tests read the same few clips, and a reading depends on its clip only."""

    def read_once(clip: PluckClip) -> PluckOutcome:
        key = clip.samples.tobytes() + repr((clip.sample_rate_hz, clip.onset, clip.first_sample)).encode()
        if key not in known_outcomes:
            known_outcomes[key] = read_clip(clip)
        return known_outcomes[key]

    for reader in ("tensionear.pluck.listener", "tensionear.job.hearing"):
        monkeypatch.setattr(f"{reader}.read_clip", read_once)


@pytest.fixture(scope="session")
def three_plucks(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A recording of three plucks at 110.0, 110.3 and 109.8 Hz."""
    path = tmp_path_factory.mktemp("recordings") / "three plucks.flac"
    soundfile.write(path, plucks([110.0, 110.3, 109.8]), RATE_HZ)
    return path
