"""``tensionear job note``, ``photo``, ``strike-out``, ``reinstate`` and ``correct``: nothing is overwritten."""

from pathlib import Path

import click
from pydantic import ValidationError

from tensionear.cli.archive_options import opened, writing_options
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.job.doing import do, tell_done
from tensionear.cli.job.steps import whole_number
from tensionear.cli.job.which import job_and_rest, number_of, words_argument
from tensionear.cli.options import Number
from tensionear.cli.trouble import tell_note
from tensionear.errors import InputError
from tensionear.job import deeds
from tensionear.job.archive.archived_job import ArchivedJob, require_job_there
from tensionear.job.log import NoteAdded
from tensionear.job.photo import read_photo
from tensionear.job.photo import without_position as photo_without_position
from tensionear.job.validation import faults_of

_NUMBERS = ("odometer_km", "ambient_c", "belt_c")

_reason_option = click.option("--reason", required=True, metavar="TEXT", help="Why; kept in the record.")


@click.command(name="note")
@words_argument("TEXT")
@writing_options
def note_command(words: tuple[str, ...], archive: str | None, by: str, as_json: bool) -> ExitCode:
    """Add a note."""
    job, (text,) = job_and_rest(words, 1)
    try:
        note = NoteAdded(text=text)
    except ValidationError as error:
        raise InputError(f"this note cannot be kept: {faults_of(error)}") from error

    def added(job: ArchivedJob) -> NoteAdded:
        require_job_there(job)
        return note

    return do(archive, job, added, by, as_json)


@click.command(name="photo")
@words_argument("FILE")
@click.option("--caption", default="", metavar="TEXT", help="What it shows.")
@click.option("--without-position", is_flag=True, help="Leave out where it was taken, if the file tells.")
@writing_options
def photo_command(
    words: tuple[str, ...],
    caption: str,
    without_position: bool,
    archive: str | None,
    by: str,
    as_json: bool,
) -> ExitCode:
    """Add a photo: JPEG, PNG or WebP.

    Its bytes are kept as they are, for they are evidence. If they tell where on Earth it was taken, that is said.
    """
    job, (file,) = job_and_rest(words, 1)
    content, photo = read_photo(Path(file))
    if photo.position is not None and without_position:
        content = photo_without_position(content)
    elif photo.position is not None:
        tell_note(
            "The photo tells where it was taken: to leave that out, add --without-position another time."
        )
    with opened(archive) as there:
        done = there.add_photo(number_of(there, job), content, photo.media_type, caption, by)
    tell_done(done, as_json)
    return ExitCode.DONE


@click.command(name="strike-out")
@words_argument("PLUCK")
@_reason_option
@writing_options
def strike_out_command(
    words: tuple[str, ...], reason: str, archive: str | None, by: str, as_json: bool
) -> ExitCode:
    """Let a pluck not count, and say why.

    PLUCK is its number in the job. It stays in the job and its record, with the reason.
    """
    job, (typed,) = job_and_rest(words, 1)
    number = whole_number(typed, "pluck")
    return do(archive, job, lambda job: deeds.strike_out(job.state, number, reason), by, as_json)


@click.command(name="reinstate")
@words_argument("PLUCK")
@_reason_option
@writing_options
def reinstate_command(
    words: tuple[str, ...], reason: str, archive: str | None, by: str, as_json: bool
) -> ExitCode:
    """Let a pluck that was struck out count again."""
    job, (typed,) = job_and_rest(words, 1)
    number = whole_number(typed, "pluck")
    return do(archive, job, lambda job: deeds.reinstate(job.state, number, reason), by, as_json)


@click.command(name="correct", context_settings={"ignore_unknown_options": True})
@words_argument("DETAIL VALUE")
@_reason_option
@writing_options
def correct_command(
    words: tuple[str, ...], reason: str, archive: str | None, by: str, as_json: bool
) -> ExitCode:
    """Correct a detail of a job, and say why.

    DETAIL is vehicle, registration, chassis-number, odometer-km, technician, workshop, ambient-c or belt-c; an empty
    VALUE ("") says that it is not known. What it was before stays in the log.
    """
    job, (detail, value) = job_and_rest(words, 2)
    name = detail.replace("-", "_")
    after: str | float | None = value
    if name in _NUMBERS:
        after = Number().convert(value, None, click.get_current_context()) if value.strip() else None
    return do(archive, job, lambda job: deeds.correct_detail(job.state, name, after, reason), by, as_json)
