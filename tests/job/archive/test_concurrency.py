"""Twenty processes write to one archive at once: nothing is lost, nothing is there twice, nobody waits for ever."""

import multiprocessing
import os
import time
import traceback
from collections.abc import Callable
from datetime import UTC, datetime
from multiprocessing.process import BaseProcess
from multiprocessing.queues import Queue

import pytest

from tensionear.errors import InputError
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.archive.opening import open_archive
from tensionear.job.archive.records import ChainPlace
from tensionear.job.log import CautionsAcknowledged, NoteAdded, PassBegun
from tensionear.job.passes import PassKind
from tensionear.job.sha256 import sha256_of
from tests.job.archive.kept import with_sound
from tests.job.invented import invented_details, invented_pluck, invented_setup

NAME = "Example Four, long span"
N_PROCESSES = 20
N_ROUNDS = 2
LIMIT_S = 200.0

pytestmark = pytest.mark.skipif(
    not hasattr(os, "fork"), reason="processes have to begin as copies of this one"
)

Told = list[tuple[str, str]]
"""What a process was told is kept: a job's number, and what was put into it."""


def _make_shared_job(where: str) -> None:
    with open_archive(where) as archive:
        archive.add_setup(invented_setup())
        archive.open_job(NAME, invented_details(), number="shared")
        archive.write_down("shared", lambda _: CautionsAcknowledged(cautions=("one",)))
        archive.write_down("shared", lambda _: _begin())


def _begin() -> PassBegun:
    return PassBegun(pass_number=1, pass_kind=PassKind.OVER_TENSION)


def _work(where: str, process: int) -> Told:
    """Open jobs, and keep plucks, notes and records in them and in the shared one."""
    told: Told = []
    with open_archive(where) as archive:
        for turn in range(N_ROUNDS):
            job = archive.open_job(NAME, invented_details())
            archive.write_down(job.number, lambda _: _begin())
            for number, text in ((job.number, "own"), ("shared", "shared")):
                sound = f"{text} sound {turn} of process {process}".encode()
                kept = archive.keep_pluck(number, with_sound(invented_pluck(100.0), sound), sound)
                assert kept is not None
                told.append((number, sha256_of(sound)))
            # All keep this very sound in the same pass: one of them does, the others are told that it is there.
            same = f"the sound of turn {turn}".encode()
            if archive.keep_pluck("shared", with_sound(invented_pluck(100.0), same), same) is not None:
                told.append(("shared", sha256_of(same)))
            record = archive.add_record(job.number if turn % 2 else "shared", _document)
            told.append((record.job_number, record.sha256))
    return told


def _document(job: ArchivedJob, place: ChainPlace) -> bytes:
    return f"{job.number} {place.number} {place.previous_sha256}".encode()


def _at_once(work: Callable[[str, int], Told], where: str) -> list[Told]:
    """Let all processes do their work; forked, so that all is imported and they really meet."""
    fork = multiprocessing.get_context("fork")
    answers: Queue[Told | str] = fork.Queue()
    gate = fork.Barrier(N_PROCESSES)

    def run(process: int) -> None:
        try:
            gate.wait(LIMIT_S)
            answers.put(work(where, process))
        except BaseException:
            answers.put(traceback.format_exc())

    processes: list[BaseProcess] = [fork.Process(target=run, args=(each,)) for each in range(N_PROCESSES)]
    for each in processes:
        each.start()
    found: list[Told] = []
    deadline = time.monotonic() + LIMIT_S
    try:
        for _ in processes:
            answer = answers.get(timeout=max(0.1, deadline - time.monotonic()))
            assert not isinstance(answer, str), answer
            found.append(answer)
    finally:
        for each in processes:
            each.join(10.0)
            if each.is_alive():
                each.kill()
    return found


@pytest.mark.filterwarnings("ignore:.*fork.*:DeprecationWarning")
def test_twenty_processes_write_at_once_and_nothing_is_lost_or_twice(where: str) -> None:
    _make_shared_job(where)
    told = [each for one in _at_once(_work, where) for each in one]
    year = datetime.now(UTC).year
    with open_archive(where) as archive:
        numbers = [f"{year}-{number:04}" for number in range(1, N_PROCESSES * N_ROUNDS + 1)]
        jobs = {number: archive.job(number) for number in (*numbers, "shared")}
        with pytest.raises(InputError, match="there is no job"):
            archive.job(f"{year}-{len(numbers) + 1:04}")
        records = archive.records()
        kept = [(n, p.pluck.sound.flac_sha256) for n, job in jobs.items() for p in job.state.plucks]
        made = [(n, r.record_sha256) for n, job in jobs.items() for r in job.state.records]
        for _, sha256 in kept:
            assert sha256_of(archive.content(sha256)) == sha256
    # Nothing lost, nothing twice; job() has seen that no log has a gap.
    assert sorted(kept + made) == sorted(told)
    assert len(jobs["shared"].state.plucks) == N_PROCESSES * N_ROUNDS + N_ROUNDS
    assert [each.place.number for each in records] == list(range(1, N_PROCESSES * N_ROUNDS + 1))
    assert [each.place.previous_sha256 for each in records] == [None, *(each.sha256 for each in records[:-1])]
    assert sorted(made) == sorted((each.job_number, each.sha256) for each in records)


def _make_and_note(where: str, process: int) -> Told:
    with open_archive(where) as archive:
        try:
            archive.add_setup(invented_setup())
        except InputError:  # another process was faster
            archive.setup(NAME)
        job = archive.open_job(NAME, invented_details())
        archive.write_down(job.number, lambda _: NoteAdded(text=f"process {process}"))
        return [(job.number, archive.archive_id)]


@pytest.mark.filterwarnings("ignore:.*fork.*:DeprecationWarning")
def test_twenty_processes_make_one_archive_at_once(where: str) -> None:
    told = [each for one in _at_once(_make_and_note, where) for each in one]
    assert len({archive_id for _, archive_id in told}) == 1
    year = datetime.now(UTC).year
    assert sorted(number for number, _ in told) == [f"{year}-{n:04}" for n in range(1, N_PROCESSES + 1)]
