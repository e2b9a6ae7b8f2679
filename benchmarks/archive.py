"""How quick an archive of 100 000 jobs with 2 million plucks is; all of it is invented.

    python -m benchmarks.archive FOLDER               make it, or take the one that is there, and measure
    python -m benchmarks.archive FOLDER --jobs 2000   a small one, to try

Jobs are put in by whole batches, past the archive's own methods but in their form, and of a few dozen templates: the
passes are judged once a template. The sound of every pluck is 32 chance bytes, so that the file is of the logs and
not of the sound, which no search touches. What is measured is what `open_archive`, `find_jobs`, `history`, `job` and
`keep_pluck` take, in one process, each many times with other words; the first of each kind counts too.
"""

import argparse
import os
import platform
import random
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, insert, text

from tensionear.job import deeds
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.archive.copying import whole_archive_file
from tensionear.job.archive.opening import open_archive
from tensionear.job.archive.rebuilding import rebuilt_columns, rebuilt_results
from tensionear.job.archive.search import JobQuery, JobSummary
from tensionear.job.archive.setups import KeptSetup, setup_words
from tensionear.job.archive.stored import entry_sha256
from tensionear.job.archive.tables import (
    CONTENTS,
    JOB_CONTENTS,
    JOBS,
    LOG_ENTRIES,
    PASS_RESULTS,
    SETUP_VERSIONS,
    SETUPS,
)
from tensionear.job.archive.words import name_key
from tensionear.job.log import (
    Fact,
    JobClosed,
    JobOpened,
    LogEntry,
    NoteAdded,
    PassBegun,
    PluckKept,
    SetupTaken,
)
from tensionear.job.passes import PassKind
from tensionear.job.pluck_document import PluckDocument
from tensionear.job.setup import Setup
from tensionear.job.sha256 import sha256_of
from tensionear.job.state import JobState, state_of
from tensionear.metrology.decision import Verdict
from tests.job.invented import invented_details, invented_pluck, invented_setup, whole_job

SEED = 20261125
N_SETUPS = 200
N_TEMPLATES = 24
N_REPEATS = 60
FIRST_DAY = datetime(2016, 1, 4, 8, 0, tzinfo=UTC)
SEARCH_TARGET_S, HISTORY_TARGET_S, OPENING_TARGET_S = 0.050, 0.100, 0.5

_SYLLABLES = ("ba", "den", "ker", "lo", "mi", "nur", "pa", "ros", "ta", "vel", "zin", "gol")
BETWEEN_ENTRIES = timedelta(minutes=2)
_COLOURS = ("white", "blue", "red", "grey", "green", "black")
_MODELS = ("Estate", "Van", "Coupe", "Wagon", "Pickup", "Saloon", "Tractor", "Bus")
_TECHNICIANS = ("Balomi", "Denkerta", "Golzin", "Lonurba", "Mirosvel", "Nurtapa", "Rosmiden", "Velgolo")
_NOTES = ("marks aligned", "water pump replaced", "tensioner replaced", "cover broken", "customer waits")


def main() -> None:
    """Make the archive if it is not there, and print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path, help="where the archive is kept, to be used again")
    parser.add_argument("--jobs", type=int, default=100_000, help="how many  [default: 100000]")
    arguments = parser.parse_args()
    arguments.folder.mkdir(parents=True, exist_ok=True)
    path = arguments.folder / f"archive-{arguments.jobs}.sqlite"
    if not path.exists():
        started = time.perf_counter()
        make(path, arguments.jobs)
        print(f"made in {time.perf_counter() - started:.0f} s", flush=True)
    print(
        f"{datetime.now(UTC):%Y-%m-%d}, {os.cpu_count()} cores, {platform.machine()}, Python"
        f" {platform.python_version()}, load {os.getloadavg()[0]:.1f}"
    )
    print(f"{path.name}: {path.stat().st_size / 1e6:.0f} MB")
    print(f"\n{'':44}{'median':>10}{'95 %':>10}{'target':>10}")
    for line in measured(path, arguments.jobs):
        print(line, flush=True)


@dataclass(frozen=True)
class Template:
    """A job of which details, note, setup, sounds and moments are yet to be filled in.

    The facts are written out already: the texts of those that differ from job to job are made anew, and in those of
    the plucks one SHA-256 is put for another.
    """

    facts: tuple[tuple[str, str | None], ...]
    state: JobState
    results: list[dict[str, Any]]


def make(path: Path, n_jobs: int) -> None:
    """Make the archive."""
    chance = random.Random(SEED)  # noqa: S311 - the same every time
    with whole_archive_file(path) as engine, engine.begin() as connection:
        setups = [
            invented_setup(name=f"Invented {_name(chance)} {number}") for number in range(1, N_SETUPS + 1)
        ]
        for number, setup in enumerate(setups, 1):
            _put_setup(connection, number, setup)
        templates = [_template(chance) for _ in range(N_TEMPLATES)]
        vehicles = [_vehicle(chance, number) for number in range(n_jobs // 3 + 1)]
        rows: dict[str, list[dict[str, Any]]] = {}
        for job_id in range(1, n_jobs + 1):
            _put_job(rows, chance, job_id, n_jobs, setups, templates, vehicles)
            if job_id % 500 == 0 or job_id == n_jobs:
                for table in (CONTENTS, JOBS, JOB_CONTENTS, LOG_ENTRIES, PASS_RESULTS):
                    connection.execute(insert(table), rows[table.name])
                rows.clear()
                if sys.stderr.isatty():
                    print(f"\r{job_id} of {n_jobs} jobs", end="", file=sys.stderr, flush=True)
        connection.execute(text("INSERT INTO job_words(job_words) VALUES ('optimize')"))


def _put_setup(connection: Connection, setup_id: int, setup: Setup) -> None:
    document = setup.canonical()
    connection.execute(
        insert(SETUPS).values(
            id=setup_id,
            name=setup.name,
            name_key=name_key(setup.name),
            last_version=1,
            words=setup_words(setup),
        )
    )
    connection.execute(
        insert(SETUP_VERSIONS).values(
            setup_id=setup_id, version=1, made_at=FIRST_DAY, by="", reason="", sha256=sha256_of(document),
            document=document.decode(),
        )
    )  # fmt: skip


def _template(chance: random.Random) -> Template:
    """The whole invented job, with other fundamentals; 21 plucks, of which one is refused."""
    setup = invented_setup()
    moved = chance.uniform(-0.04, 0.04)
    facts: list[Fact] = []
    for fact in whole_job():
        if isinstance(fact, PluckKept) and fact.pluck.fundamental is not None:
            fundamental_hz = round(fact.pluck.fundamental.value * (1 + moved), 3)
            facts.append(fact.model_copy(update={"pluck": invented_pluck(fundamental_hz)}))
        else:
            facts.append(fact)
    if chance.random() < 0.95:
        facts.append(JobClosed())
    opened = JobOpened(details=invented_details(), is_demonstration=True)
    log = tuple(
        LogEntry(
            number=number, at=FIRST_DAY + number * BETWEEN_ENTRIES, by="", software_version="0", fact=fact
        )
        for number, fact in enumerate((opened, _taken(setup), *facts), 1)
    )
    job = ArchivedJob("1", "", log, state_of(log), setup, _kept(setup))
    return Template(
        tuple(
            (_text(each), each.pluck.sound.flac_sha256 if isinstance(each, PluckKept) else None)
            for each in facts
        ),
        job.state,
        rebuilt_results(job, 0),
    )


def _put_job(
    rows: dict[str, list[dict[str, Any]]],
    chance: random.Random,
    job_id: int,
    n_jobs: int,
    setups: Sequence[Setup],
    templates: Sequence[Template],
    vehicles: Sequence[dict[str, str]],
) -> None:
    setup_id = chance.randrange(len(setups)) + 1
    setup, template = setups[setup_id - 1], chance.choice(templates)
    begun = FIRST_DAY + timedelta(days=3_650 * job_id / n_jobs)
    details = invented_details(
        **chance.choice(vehicles),
        technician=f"Invented {_TECHNICIANS[chance.randrange(len(_TECHNICIANS))]}",
        workshop=f"Invented yard {chance.randrange(4)}",
    )
    note = NoteAdded(text=f"Invented: {chance.choice(_NOTES)}, {_name(chance)} {_name(chance)}.")
    facts = [_text(JobOpened(details=details, is_demonstration=True)), _text(_taken(setup))]
    for fact, sound_sha256 in template.facts:
        if sound_sha256 is not None:
            sound = chance.randbytes(32)
            sha256 = sha256_of(sound)
            rows.setdefault(CONTENTS.name, []).append(
                {"sha256": sha256, "media_type": "audio/flac", "content": sound}
            )
            rows.setdefault(JOB_CONTENTS.name, []).append({"job_id": job_id, "sha256": sha256})
            facts.append(fact.replace(sound_sha256, sha256))
        else:
            facts.append(_text(note) if '"kind":"note"' in fact else fact)
    for number, fact in enumerate(facts, 1):
        at = begun + number * BETWEEN_ENTRIES
        rows.setdefault(LOG_ENTRIES.name, []).append(
            {
                "job_id": job_id, "number": number, "at": at, "by": "", "software_version": "0", "fact": fact,
                "sha256": entry_sha256(job_id, number, at, "", "0", fact),
            }
        )  # fmt: skip
    moved = begun - FIRST_DAY
    results = [
        {**each, "job_id": job_id, "begun_at": each["begun_at"] + moved, "ended_at": each["ended_at"] + moved}
        for each in template.results
    ]
    state = replace(
        template.state,
        details=details,
        notes=(note.text,),
        opened_at=begun + BETWEEN_ENTRIES,
        closed_at=None if template.state.closed_at is None else begun + len(facts) * BETWEEN_ENTRIES,
    )
    last = LogEntry(
        number=len(facts), at=begun + len(facts) * BETWEEN_ENTRIES, by="", software_version="0", fact=note
    )
    uid = f"{job_id:08x}-0000-4000-8000-{chance.getrandbits(48):012x}"
    job = ArchivedJob(f"{begun.year}-{job_id:06}", uid, (last,) * len(facts), state, setup, _kept(setup))
    columns = {"id": job_id, **rebuilt_columns(job, setup_id, results)}
    rows.setdefault(JOBS.name, []).append(columns)
    rows.setdefault(PASS_RESULTS.name, []).extend(results)


def _text(fact: Fact) -> str:
    return fact.canonical().decode()


def _taken(setup: Setup) -> SetupTaken:
    return SetupTaken(setup_name=setup.name, setup_version=1, setup_sha256=sha256_of(setup.canonical()))


def _kept(setup: Setup) -> KeptSetup:
    return KeptSetup(setup.name, 1, FIRST_DAY, "", "", sha256_of(setup.canonical()), setup)


def _vehicle(chance: random.Random, number: int) -> dict[str, str]:
    return {
        "vehicle": f"Invented {_name(chance)} {chance.choice(_MODELS)} {chance.choice(_COLOURS)} {number}",
        "registration": f"EX-{_name(chance)[:3].upper()} {number}",
        "chassis_number": f"INVENTED{number:09}",
    }


def _name(chance: random.Random) -> str:
    return "".join(chance.choices(_SYLLABLES, k=3)).capitalize()


def measured(path: Path, n_jobs: int) -> Iterator[str]:
    """Lines of the table."""
    yield _line("opening, with a new Python and its imports", _in_new_python(path), None)
    where = str(path)
    yield _line("opening", _times(lambda _: _open(where)), OPENING_TARGET_S)
    with open_archive(where, make=False) as archive:
        vehicles = [
            archive.find_jobs(JobQuery(words=f"{n_jobs * part // N_REPEATS:06}"))[0]
            for part in range(1, N_REPEATS + 1)
        ]
        for name, query in _queries(vehicles):
            yield _line(f"search: {name}", _times(_search(archive, query)), SEARCH_TARGET_S)
        for name, histories in _histories(archive, vehicles):
            yield _line(f"history of one {name}", _times(histories), HISTORY_TARGET_S)
        yield _line("opening one job", _times(lambda number: archive.job(vehicles[number].number)), None)
        yield _line("keeping one pluck, safe on the disk", _pluck_times(archive), None)


def _search(archive: Archive, query: Callable[[int], JobQuery]) -> Callable[[int], object]:
    return lambda number: archive.find_jobs(query(number))


def _histories(archive: Archive, jobs: Sequence[JobSummary]) -> list[tuple[str, Callable[[int], object]]]:
    return [
        ("vehicle", lambda number: archive.history(vehicle=jobs[number].vehicle)),
        ("registration", lambda number: archive.history(registration=jobs[number].registration)),
        ("chassis number", lambda number: archive.history(chassis_number=jobs[number].chassis_number)),
        ("setup", lambda number: archive.history(setup=jobs[number].setup_name)),
    ]


def _queries(jobs: Sequence[JobSummary]) -> list[tuple[str, Callable[[int], JobQuery]]]:
    common = ("invented", "example", "estate", "van", "white", "marks")
    return [
        ("a word that all jobs have", lambda _: JobQuery(words="invented")),
        ("a common word", lambda number: JobQuery(words=common[number % len(common)])),
        ("two common words", lambda number: JobQuery(words=f"{_MODELS[number % 8]} {_COLOURS[number % 6]}")),
        ("four common words", lambda number: JobQuery(words=f"inv {_MODELS[number % 8]} {_COLOURS[number % 6]} m")),
        ("the beginning of a word, one letter", lambda number: JobQuery(words="abdeklmnprtvzg"[number % 14])),
        ("a rare word", lambda number: JobQuery(words=jobs[number].registration)),
        ("a common and a rare word", lambda number: JobQuery(words=f"invented {jobs[number].chassis_number}")),
        ("a word that no job has", lambda number: JobQuery(words=f"qqq{number}")),
        ("number", lambda number: JobQuery(number=jobs[number].number)),
        ("vehicle", lambda number: JobQuery(vehicle=" ".join(jobs[number].vehicle.split()[:3]))),
        ("registration", lambda number: JobQuery(registration=jobs[number].registration)),
        ("chassis number", lambda number: JobQuery(chassis_number=jobs[number].chassis_number)),
        ("technician", lambda number: JobQuery(technician=jobs[number].technician)),
        ("workshop", lambda number: JobQuery(workshop=f"yard {number % 4}")),
        ("setup", lambda number: JobQuery(setup=jobs[number].setup_name)),
        ("verdict", lambda number: JobQuery(verdict=list(Verdict)[number % len(Verdict)])),
        ("opened in one week", lambda number: JobQuery(
            opened_from=jobs[number].opened_at, opened_to=jobs[number].opened_at + timedelta(days=7))),
        ("open jobs", lambda _: JobQuery(is_open=True)),
        ("closed jobs", lambda _: JobQuery(is_open=False)),
        ("deleted jobs", lambda _: JobQuery(deleted=True)),
        ("technician, verdict, year and a word", lambda number: JobQuery(
            words=_COLOURS[number % 6], technician=jobs[number].technician, verdict=list(Verdict)[number % 2],
            opened_from=FIRST_DAY + timedelta(days=365 * (number % 10)),
            opened_to=FIRST_DAY + timedelta(days=365 * (number % 10 + 1)))),
        ("the newest, whatever they are", lambda _: JobQuery()),
    ]  # fmt: skip


def _open(where: str) -> None:
    with open_archive(where, make=False):
        pass


def _in_new_python(path: Path) -> list[float]:
    program = (
        "from tensionear.job.archive.opening import open_archive\n"
        f"with open_archive({str(path)!r}, make=False): pass"
    )
    times = []
    for _ in range(5):
        started = time.perf_counter()
        subprocess.run([sys.executable, "-c", program], check=True)
        times.append(time.perf_counter() - started)
    return times


def _pluck_times(archive: Archive) -> list[float]:
    """In a pass of a new job, which goes away with it: deleted, and left to be purged."""
    setup_name = archive.setups()[0].name
    number = archive.open_job(setup_name, invented_details(), is_demonstration=True).number
    archive.write_down(number, lambda _: PassBegun(pass_number=1, pass_kind=PassKind.FINAL_SETTING))
    chance = random.Random(time.time_ns())  # noqa: S311 - other sounds than last time
    times = []
    for place in range(N_REPEATS):
        sound = chance.randbytes(200_000)
        pluck = invented_pluck(118.0 + 0.001 * place)
        heard = _heard_in(pluck, sha256_of(sound))
        started = time.perf_counter()
        archive.keep_pluck(number, heard, sound)
        times.append(time.perf_counter() - started)
    archive.write_down(number, lambda job: deeds.delete_job(job.state, "of the benchmark"))
    return times


def _heard_in(pluck: PluckDocument, sha256: str) -> PluckDocument:
    """The pluck, as heard in another sound."""
    return pluck.model_copy(update={"sound": pluck.sound.model_copy(update={"flac_sha256": sha256})})


def _times(do: Callable[[int], object]) -> list[float]:
    times = []
    for number in range(N_REPEATS):
        started = time.perf_counter()
        do(number)
        times.append(time.perf_counter() - started)
    return times


def _line(name: str, times: Sequence[float], target_s: float | None) -> str:
    median = statistics.median(times)
    high = sorted(times)[min(len(times) - 1, int(0.95 * len(times)))]
    target = (
        "" if target_s is None else f"{1000 * target_s:7.0f} ms" + ("" if median <= target_s else "  MISSED")
    )
    return f"{name:44}{1000 * median:7.1f} ms{1000 * high:7.1f} ms{target}"


if __name__ == "__main__":
    main()
