"""A job is killed at any moment, again and again, and loses nothing that was shown."""

import json
import math
import multiprocessing
import os
import random
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import av
import pytest
import scipy.linalg
import scipy.optimize
import scipy.signal
import scipy.special
import scipy.stats
import soundfile

from tensionear.cli import main
from tensionear.cli.job import additions, hearing, opening, steps
from tensionear.errors import InputError
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.opening import open_archive
from tensionear.job.course import next_step
from tensionear.job.log import LogEntry
from tensionear.job.passes import PassKind, Step
from tensionear.job.setup import Direction, RunInPlan
from tests.job.invented import invented_details, invented_setup

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs SIGKILL and fork")

RECORDINGS = Path(__file__).parents[2] / "recordings_demo"
N_KILLS = 200
N_PLUCKS = 2
MOST_WRITES = 4
LONGEST_DELAY_S = 0.1
SETUP = invented_setup(
    plucks_per_pass=N_PLUCKS,
    run_in=RunInPlan(revolutions=2 * N_PLUCKS, direction=Direction.CLOCKWISE),
    checklist=(),
)
PRELOADED = (additions, hearing, opening, steps, av, scipy)
"""What the command line imports only when it is asked for; the server that forks the workers has it already."""

COMMANDS = {
    Step.CAUTIONS: ("cautions", "--acknowledge"),
    Step.OVER_TENSION: ("read", "over-tension.flac", "--pass", "over-tension"),
    Step.TOOLS_OUT: ("tools-out",),
    Step.RUN_IN: ("read", "run-in.flac", "--pass", "run-in", "--turned", "2"),
    Step.TOP_DEAD_CENTRE: ("top-dead-centre",),
    Step.FINAL_SETTING: ("read", "final-setting.flac", "--pass", "final-setting"),
}


@pytest.mark.timeout(1200)
def test_a_job_that_is_killed_two_hundred_times_has_every_pluck_that_was_shown_once_and_whole(
    tmp_path: Path,
) -> None:
    for name in ("over-tension", "run-in", "final-setting", "re-check"):
        _cut(name, tmp_path)
    where = tmp_path / "archive.sqlite"
    write_ahead = tmp_path / f"{where.name}-wal"
    with open_archive(str(where)) as archive:
        archive.add_setup(SETUP)
    process = multiprocessing.get_context("forkserver")
    process.set_forkserver_preload([__name__])
    chance = random.Random(7)  # noqa: S311 - moments, no secrets
    logs: dict[str, tuple[LogEntry, ...]] = {}
    n_shown = 0
    for number in range(N_KILLS):
        shown = tmp_path / f"shown-{number}.jsonl"
        worker = process.Process(target=_work, args=(where, shown))
        worker.start()
        for _ in range(chance.randint(0, MOST_WRITES)):
            _wait_until_it_grows(chance.choice((write_ahead, shown)), worker)
        worker.join(chance.uniform(0.0, LONGEST_DELAY_S))
        assert worker.is_alive(), f"it ended by itself: {shown.read_text(encoding='utf-8')}"
        assert worker.pid is not None
        os.kill(worker.pid, signal.SIGKILL)
        worker.join()
        with open_archive(str(where)) as archive:
            n_shown += _require_all_that_was_shown(archive, list(_shown(shown)))
            _require_nothing_lost(archive, logs)
    assert n_shown > N_KILLS / 20, "it was killed too early to show anything"
    assert len(logs) > 2, "no job was done to its end"


def _require_all_that_was_shown(archive: Archive, shown: list[dict[str, Any]]) -> int:
    plucks = [line for line in shown if line["kind"] == "pluck"]
    for line in plucks:
        pluck = archive.job(line["job"]).state.plucks[line["number"] - 1]
        assert pluck.pluck.sound.flac_sha256 == line["flac_sha256"]
        outcome = pluck.pluck.outcome.model_dump(mode="json")
        assert outcome.get("fundamental_hz") == line["fundamental_hz"]
    return len(plucks)


def _require_nothing_lost(archive: Archive, logs: dict[str, tuple[LogEntry, ...]]) -> None:
    """What was in a log before is there still, every pluck is there once, and its sound is whole."""
    for number in [*logs, f"killed {len(logs) + 1}"]:
        if number not in logs and not _is_there(archive, number):
            continue
        job = archive.job(number)  # raises if the log has a gap or does not fold
        before = logs.get(number, ())
        assert job.log[: len(before)] == before
        for entry in job.log[len(before) :]:
            if entry.fact.kind == "pluck":
                archive.content(entry.fact.pluck.sound.flac_sha256)  # raises if it is missing or damaged
        sounds = [pluck.pluck.sound.flac_sha256 for pluck in job.state.plucks]
        assert len(sounds) == len(set(sounds))
        assert job.state.revolutions <= 2 * N_PLUCKS
        logs[number] = job.log


def _is_there(archive: Archive, number: str) -> bool:
    try:
        archive.job(number)
    except InputError:
        return False
    return True


def _shown(path: Path) -> Iterator[dict[str, Any]]:
    """Lines that were shown whole."""
    if path.exists():
        for line in path.read_text(encoding="utf-8").splitlines(keepends=True):
            if line.endswith("\n"):
                yield json.loads(line)


def _cut(name: str, folder: Path) -> None:
    """Cut the first plucks off a recording, so that a job is short."""
    truth = json.loads((RECORDINGS / f"{name}.json").read_text(encoding="utf-8"))
    samples, rate = soundfile.read(RECORDINGS / f"{name}.flac", dtype="int16")
    end_s = truth["plucks"][N_PLUCKS]["at_s"] - 0.3
    soundfile.write(folder / f"{name}.flac", samples[: round(end_s * rate)], rate)


def _wait_until_it_grows(file: Path, worker: Any) -> None:
    """Wait until something is written, so that the moments of death lie near those that matter, on any machine."""
    before, now = math.inf, 0
    while now <= before and worker.is_alive():  # SQLite's log shrinks whenever a command ends
        before, now = now, _n_bytes(file)
        time.sleep(0.0005)


def _n_bytes(path: Path) -> int:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return 0


def _work(where: Path, shown: Path) -> None:
    """Do jobs, one after the other, each on from where it is, by the commands that a person would type."""
    out = os.open(shown, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    os.dup2(out, 1)
    sys.stdout = os.fdopen(1, "w", encoding="utf-8")
    os.environ["TENSIONEAR_ARCHIVE"] = str(where)
    number, server = 1, os.getppid()
    while os.getppid() == server:  # else the test itself was killed
        name = f"killed {number}"
        with open_archive(str(where)) as archive:
            if not _is_there(archive, name):
                archive.open_job(SETUP.name, invented_details(), number=name, is_demonstration=True)
            job = archive.job(name)
            state, step = job.state, next_step(job.state, job.setup).step
        if state.closed_at is not None:
            number += 1
            continue
        goes_on = state.open_pass
        if goes_on is not None and goes_on.kind is PassKind.RUN_IN and len(goes_on.plucks) == N_PLUCKS:
            _command("end-pass", name)
        elif step is not None and step is not Step.RE_CHECK:
            command, *rest = COMMANDS[step]
            _command(command, name, *(str(where.parent / word) if "." in word else word for word in rest))
        elif (recheck := state.last_pass(PassKind.RE_CHECK)) is None or recheck.ended_at is None:
            _command("read", name, str(where.parent / "re-check.flac"), "--pass", "re-check")
        else:
            _command("close", name)


def _command(*words: str) -> None:
    try:
        main(["job", *words, "--json"])
    except SystemExit as ended:
        if ended.code:
            os._exit(9)
