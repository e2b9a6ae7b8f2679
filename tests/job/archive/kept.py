"""Jobs that are put into an archive deed by deed, each pluck with sound of its own."""

from collections.abc import Iterable

from tensionear.job.archive.archive import Archive
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.log import Fact, PluckKept
from tensionear.job.pluck_document import PluckDocument
from tensionear.job.sha256 import sha256_of


def with_sound(pluck: PluckDocument, sound: bytes) -> PluckDocument:
    """The pluck, as if it had been heard in this sound."""
    heard = pluck.sound.model_copy(update={"flac_sha256": sha256_of(sound)})
    return pluck.model_copy(update={"sound": heard})


def do(archive: Archive, number: str, facts: Iterable[Fact]) -> ArchivedJob:
    """Write facts down one after the other; the sound of pluck 3 of job 1 is ``job 1, pluck 3``."""
    job = archive.job(number)
    for fact in facts:
        if isinstance(fact, PluckKept):
            sound = f"job {job.number}, pluck {fact.pluck_number}".encode()
            assert archive.keep_pluck(number, with_sound(fact.pluck, sound), sound) is not None
        else:
            job = archive.write_down(number, lambda _, fact=fact: fact)  # type: ignore[misc]
    return archive.job(number)
