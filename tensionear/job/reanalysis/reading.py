"""What is read anew: every kept pluck of an archive, or every recording of a folder; and the reading of one."""

import hashlib
from collections.abc import Container, Iterator
from dataclasses import dataclass
from pathlib import Path

from tensionear.errors import ArchiveError, InputError
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.every_job import JobInBrief
from tensionear.job.hearing import read_anew
from tensionear.job.passes import PassKind
from tensionear.job.pluck_document import PluckDocument, outcome_document
from tensionear.job.reanalysis.lines import NotRead, PluckRead, ReadLine, RecordingRead
from tensionear.reading import read_recording
from tensionear.task import BeltTask

# fmt: off
SOUND_ENDINGS = frozenset({
    ".aac", ".aif", ".aiff", ".amr", ".avi", ".caf", ".flac", ".m4a", ".mkv", ".mov", ".mp3", ".mp4", ".oga", ".ogg",
    ".opus", ".wav", ".w64", ".webm", ".wma",
})
# fmt: on
"""By which recordings are told from what else lies in a folder."""


@dataclass(frozen=True)
class KeptPluck:
    """A pluck of an archive, with its sound."""

    item: str
    name: str
    job: str
    setup: str
    pass_number: int
    pass_kind: PassKind
    pluck_number: int
    pluck: PluckDocument
    flac: bytes

    def read(self) -> PluckRead:
        """Read it anew."""
        return PluckRead(
            item=self.item,
            job=self.job,
            setup=self.setup,
            pass_number=self.pass_number,
            pass_kind=self.pass_kind,
            pluck_number=self.pluck_number,
            estimator_version=self.pluck.estimator_version,
            before=self.pluck.outcome,
            after=outcome_document(read_anew(self.pluck.sound, self.flac)),
        )


@dataclass(frozen=True)
class FoundRecording:
    """A recording of a folder."""

    item: str
    path: Path
    n_bytes: int

    @property
    def name(self) -> str:
        """Its name for people."""
        return self.item

    def read(self) -> RecordingRead:
        """Read it."""
        with self.path.open("rb") as file:
            sha256 = hashlib.file_digest(file, "sha256").hexdigest()
        outcomes = [reading.pluck.outcome for reading in read_recording(self.path, BeltTask())]
        return RecordingRead(
            item=self.item, sha256=sha256, plucks=tuple(outcome_document(each) for each in outcomes)
        )


def read_item(item: KeptPluck | FoundRecording | NotRead) -> ReadLine:
    """Read one item; whatever goes wrong with it is told in its line, so that the others go on."""
    if isinstance(item, NotRead):
        return item
    try:
        return item.read()
    except InputError as error:
        message = str(error)
    except Exception as error:  # a bug in the reading of one item must not cost a night's run
        message = f"this is a fault of tensionear itself ({type(error).__name__}: {error})"
    return NotRead(item=item.item, name=item.name, message=message)


def kept_plucks(
    archive: Archive, jobs: list[JobInBrief], without: Container[str]
) -> Iterator[KeptPluck | NotRead]:
    """All plucks of some jobs, the refused and the struck out too.

    Parameters
    ----------
    archive : Archive
        It is only read.
    jobs : list of JobInBrief
        In the order in which they are to be read.
    without : container of str
        Items that are done already.
    """
    for brief in jobs:
        numbers = (f"{brief.uid}/{number}" for number in range(1, brief.n_plucks + 1))
        if all(item in without for item in numbers):
            continue
        try:
            job = archive.job(brief.number)
        except (InputError, ArchiveError) as error:
            yield NotRead(item=brief.uid, name=f"job {brief.number}", message=str(error))
            continue
        for each in job.state.passes:
            for pluck in each.plucks:
                item, name = f"{job.uid}/{pluck.number}", f"job {job.number}, pluck {pluck.number}"
                if item in without:
                    continue
                try:
                    flac = archive.content(pluck.pluck.sound.flac_sha256)
                except (InputError, ArchiveError) as error:
                    yield NotRead(item=item, name=name, message=str(error))
                    continue
                yield KeptPluck(
                    item,
                    name,
                    job.number,
                    job.kept_setup.name,
                    each.number,
                    each.kind,
                    pluck.number,
                    pluck.pluck,
                    flac,
                )


def recordings_in(folder: Path) -> list[FoundRecording]:
    """All recordings in a folder and the folders in it, by name.

    Raises
    ------
    InputError
        If it is no folder, or there is none in it.
    """
    if not folder.is_dir():
        raise InputError(f"there is no folder {folder}: is the name right?")
    found = [
        FoundRecording(_item(path.relative_to(folder)), path, path.stat().st_size)
        for path in sorted(folder.rglob("*"))
        if path.suffix.lower() in SOUND_ENDINGS and path.is_file()
    ]
    if not found:
        raise InputError(f"folder {folder} has no recording in it: is it the right one?")
    return found


def _item(path: Path) -> str:
    return path.as_posix().encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")
