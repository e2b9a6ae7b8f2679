"""What the tests of re-analysis share: a folder of nothing, quickly read; lines that are made up."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tensionear.job.pluck_document import OutcomeDocument
from tensionear.job.reanalysis.lines import NotRead, ReadLine, RecordingRead
from tensionear.job.reanalysis.reading import FoundRecording
from tensionear.job.sha256 import sha256_of
from tests.job.invented import invented_pluck, refused_pluck


def outcome(fundamental_hz: float | None, at_s: float = 2.1) -> OutcomeDocument:
    """An invented outcome; None: refused."""
    pluck = refused_pluck() if fundamental_hz is None else invented_pluck(fundamental_hz)
    return pluck.outcome.model_copy(update={"at_s": at_s})


def read_quickly(item: object) -> ReadLine:
    """As if it were read: recording "7.wav" has a pluck at 107 Hz and a refused one, "3.wav" cannot be read."""
    assert isinstance(item, FoundRecording)
    number = int(item.path.stem)
    if number == 3:
        return NotRead(item=item.item, name=item.name, message="invented trouble")
    content = item.path.read_bytes()
    return RecordingRead(
        item=item.item,
        sha256=sha256_of(content),
        plucks=(outcome(100.0 + number), outcome(None, at_s=5.0)),
    )


@contextmanager
def untracked(_: int) -> Iterator[Callable[[int], None]]:
    """Follow nothing."""
    yield lambda _: None


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Six files that are no sound, in two folders."""
    for number in range(1, 7):
        path = tmp_path / "recordings" / ("morning" if number < 4 else "evening") / f"{number}.wav"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(f"invented {number}".encode())
    (tmp_path / "recordings" / "notes.txt").write_text("no recording", "utf-8")
    return tmp_path / "recordings"


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let recordings be read by `read_quickly`."""
    monkeypatch.setattr("tensionear.job.reanalysis.run.read_item", read_quickly)
