"""Archives with many small jobs, made quickly, and the ways in which files come to harm."""

import random
from pathlib import Path

from sqlalchemy import insert

from tensionear.job.archive.archive import Archive
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.archive.jobs import entry_columns
from tensionear.job.archive.opening import open_archive
from tensionear.job.archive.projection import first_columns
from tensionear.job.archive.rebuilding import rebuilt_columns, rebuilt_results
from tensionear.job.archive.setups import setup_id
from tensionear.job.archive.tables import CONTENTS, JOB_CONTENTS, JOBS, LOG_ENTRIES, PASS_RESULTS
from tensionear.job.log import PluckKept
from tensionear.job.sha256 import sha256_of
from tensionear.job.state import state_of
from tests.job.archive.kept import with_sound
from tests.job.invented import invented_details, invented_log, invented_setup, whole_job

PAGE_BYTES = 4096
NAME = invented_setup().name


def make_archive(path: Path, n_jobs: int = 30, n_facts: int = 12) -> None:
    """An archive of jobs 1 to `n_jobs`, every third of which has a record, with sounds of 0.1 to 20 kB."""
    chance = random.Random(20261125)  # noqa: S311 - the same every time
    with open_archive(str(path)) as archive:
        archive.add_setup(invented_setup(notes="invented, first version"))
        kept = archive.change_setup(NAME, invented_setup(), "invented reason")
        for number in range(1, n_jobs + 1):
            facts = []
            sounds = []
            for fact in whole_job()[:n_facts]:
                if isinstance(fact, PluckKept):
                    sound = chance.randbytes(chance.randrange(100, 20_000))
                    sounds.append(sound)
                    fact = fact.model_copy(update={"pluck": with_sound(fact.pluck, sound)})
                facts.append(fact)
            log = invented_log(facts, details=invented_details(vehicle=f"Invented vehicle {number}"))
            taken = log[1].fact.model_copy(update={"setup_version": kept.version})
            log = (log[0], log[1].model_copy(update={"fact": taken}), *log[2:])
            uid = f"00000000-0000-0000-0000-{number:012}"
            _put(archive, ArchivedJob(str(number), uid, log, state_of(log), kept.setup, kept), sounds)
            if number % 3 == 1:
                archive.add_record(
                    str(number),
                    lambda job, place: f'{{"job":"{job.number}","number":{place.number}}}'.encode(),
                )


def _put(archive: Archive, job: ArchivedJob, sounds: list[bytes]) -> None:
    with archive.writing() as connection:
        of_setup = setup_id(connection, NAME)
        job_id = connection.execute(
            insert(JOBS).values(first_columns(job, of_setup)).returning(JOBS.c.id)
        ).scalar_one()
        results = rebuilt_results(job, job_id)
        connection.execute(
            JOBS.update().where(JOBS.c.id == job_id).values(rebuilt_columns(job, of_setup, results))
        )
        connection.execute(insert(LOG_ENTRIES), [entry_columns(job_id, each) for each in job.log])
        connection.execute(insert(PASS_RESULTS), results)
        for sound in sounds:
            sha256 = sha256_of(sound)
            connection.execute(insert(CONTENTS).values(sha256=sha256, media_type="audio/flac", content=sound))
            connection.execute(insert(JOB_CONTENTS).values(job_id=job_id, sha256=sha256))


def overwrite_pages(path: Path, to: Path, share: float, seed: int) -> None:
    """A copy in which some pages hold chance bytes."""
    chance = random.Random(seed)  # noqa: S311 - the same every time
    content = bytearray(path.read_bytes())
    n_pages = len(content) // PAGE_BYTES
    for page in chance.sample(range(n_pages), max(1, round(share * n_pages))):
        content[page * PAGE_BYTES : (page + 1) * PAGE_BYTES] = chance.randbytes(PAGE_BYTES)
    to.write_bytes(content)


def flip_bits(path: Path, to: Path, n_bits: int, seed: int) -> None:
    """A copy in which single bits are other ones."""
    chance = random.Random(seed)  # noqa: S311 - the same every time
    content = bytearray(path.read_bytes())
    for _ in range(n_bits):
        content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
    to.write_bytes(content)
