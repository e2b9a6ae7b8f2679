"""An invented job with the sound of the invented recordings, done in an archive; nothing in it is real."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from functools import cache
from itertools import islice
from pathlib import Path

import numpy as np
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from tensionear.job.archive.archive import Archive
from tensionear.job.bundle.seal import make_seal, write_seal
from tensionear.job.course import cautions_for
from tensionear.job.hearing import kept
from tensionear.job.log import (
    CautionsAcknowledged,
    DetailCorrected,
    Fact,
    JobClosed,
    LineTicked,
    NoteAdded,
    PassBegun,
    PassEnded,
    PluckStruckOut,
    StepDone,
    Turned,
)
from tensionear.job.passes import PassKind, Step
from tensionear.job.pluck_document import PluckDocument
from tensionear.job.record.record_document import RecordDocument
from tensionear.job.setup import Direction, Setup
from tensionear.pluck.estimator import read_clip
from tensionear.pluck.listener import HeardPluck
from tensionear.pluck.outcome import PluckClip
from tensionear.reading import read_recording
from tests.job.invented import invented_details, invented_setup

RECORDINGS = Path(__file__).parents[2] / "recordings_demo"
JOB = "invented 1"
BY = "Zofia Żółć"
SIGNER = "Invented Workshop"
SEALED_AT = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)

Kept = tuple[PluckDocument, bytes]


@cache
def recorded(name: str, n_plucks: int) -> tuple[Kept, ...]:
    """The first plucks of a recording as they are kept, each with its sound."""
    task = invented_setup().task_for(PassKind.FINAL_SETTING)
    return tuple(
        kept(reading.pluck, f"{name}.flac", reading.channel, is_recording=True)
        for reading in islice(read_recording(RECORDINGS / f"{name}.flac", task), n_plucks)
    )


def refused() -> Kept:
    """A pluck that is nothing but noise."""
    samples = np.random.default_rng(5).normal(0.0, 0.01, 48_000).astype(np.float32)
    clip = PluckClip(samples, 48_000.0, onset=24_000, first_sample=0)
    return kept(HeardPluck(clip, read_clip(clip)), "noise", 1, is_recording=True)


def do_recorded_job(archive: Archive, n_plucks: int, setup: Setup | None = None) -> None:
    """Do the whole job `JOB` in an archive, with `n_plucks` of the recording for each pass.

    The first of the final setting is struck out; one more of the re-check is refused.
    """
    setup = setup or invented_setup()
    archive.add_setup(setup, by=BY)
    archive.open_job(setup.name, invented_details(), number=JOB, is_demonstration=True, by=BY)
    _write(archive, CautionsAcknowledged(cautions=cautions_for(setup)))
    _pass(archive, 1, PassKind.OVER_TENSION, recorded("over-tension", n_plucks))
    _write(archive, LineTicked(step=Step.TOOLS_OUT, text="crankshaft pin out"))
    _write(archive, StepDone(step=Step.TOOLS_OUT))
    _write(archive, PassBegun(pass_number=2, pass_kind=PassKind.RUN_IN))
    for pluck, flac in recorded("run-in", n_plucks):
        _write(archive, Turned(revolutions=2, direction=Direction.CLOCKWISE))
        archive.keep_pluck(JOB, pluck, flac, BY)
    _write(archive, PassEnded(pass_number=2))
    if n_plucks < 5:
        _write(archive, Turned(revolutions=10 - 2 * n_plucks, direction=Direction.CLOCKWISE))
    _write(archive, StepDone(step=Step.TOP_DEAD_CENTRE))
    _pass(archive, 3, PassKind.FINAL_SETTING, recorded("final-setting", n_plucks))
    _write(archive, LineTicked(step=Step.FINAL_SETTING, text="tensioner bolt", value=25.0, unit="N m"))
    struck = archive.job(JOB).state.passes[2].plucks[0].number
    _write(archive, PluckStruckOut(pluck_number=struck, reason="invented: the belt was touched"))
    _write(archive, NoteAdded(text="Invented note: the marks are aligned."))
    before = invented_details().odometer_km
    correction = DetailCorrected(
        name="odometer_km", before=before, after=121_650.0, reason="invented: misread"
    )
    _write(archive, correction)
    _write(archive, JobClosed())
    _pass(archive, 4, PassKind.RE_CHECK, (*recorded("re-check", n_plucks), refused()))


def _pass(archive: Archive, number: int, kind: PassKind, plucks: Sequence[Kept]) -> None:
    _write(archive, PassBegun(pass_number=number, pass_kind=kind))
    for pluck, flac in plucks:
        archive.keep_pluck(JOB, pluck, flac, BY)
    _write(archive, PassEnded(pass_number=number))


def _write(archive: Archive, fact: Fact) -> None:
    archive.write_down(JOB, lambda _: fact, BY)


def sealed_anew(files: Mapping[str, bytes], key: Ed25519PrivateKey | None = None) -> dict[str, bytes]:
    """The files under a seal that fits them, as whoever knows how to make one would make it."""
    others = {name: content for name, content in files.items() if name != "seal.json"}
    chain = RecordDocument.model_validate_json(files["record.json"]).chain
    seal = make_seal(others, chain, SEALED_AT, key, SIGNER if key else "")
    return {**others, "seal.json": write_seal(seal)}
