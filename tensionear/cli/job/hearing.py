"""``tensionear job listen`` and ``read``: plucks of a pass, each kept in the archive before it is shown."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from tensionear.cli.archive_options import opened, writing_options
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.job.due_pass import begin_or_go_on
from tensionear.cli.job.keeping import PluckKeeper, are_kept_already
from tensionear.cli.job.pass_report import PassReport
from tensionear.cli.job.which import job_and_rest, number_of
from tensionear.cli.listen import SHORT_CAUTION, StoppableSound, ctrl_c_stops
from tensionear.cli.options import Number, device_from, listening_options, require_end
from tensionear.cli.reading_options import telling_options, told_from
from tensionear.cli.step_words import PASSES
from tensionear.cli.trouble import tell_note, tell_trouble
from tensionear.errors import DeviceError, InputError, RecordingError
from tensionear.job.passes import PassKind
from tensionear.reading import read_recording, read_source
from tensionear.sound.microphone import Microphone
from tensionear.task import BeltTask

_OPTIONS: tuple[Callable[[Callable[..., Any]], Callable[..., Any]], ...] = (
    click.option(
        "--turned", type=Number(), metavar="N",
        help="In the run-in: the engine was turned over by N revolutions before each pluck, after the last reading;"
        " noted with it.",
    ),
    click.option("--reason", default="", metavar="TEXT", help="Why a pass is done again; kept in the record."),
    click.option("--go-on", is_flag=True, help="Do not end the pass when it has its readings."),
)  # fmt: skip


def _pass_options(command: Callable[..., Any]) -> Callable[..., Any]:
    for option in reversed(_OPTIONS):
        command = option(command)
    return telling_options(command)


@click.command(name="listen")
@click.argument("words", nargs=-1, metavar="[JOB] [PASS]")
@_pass_options
@listening_options
@writing_options
def listen_command(
    words: tuple[str, ...],
    turned: float | None,
    reason: str,
    go_on: bool,
    device: str | None,
    seconds: float | None,
    n_plucks: int | None,
    archive: str | None,
    by: str,
    as_json: bool,
    **typed: Any,
) -> ExitCode:
    """Read the plucks of a pass as a microphone hears them.

    PASS is over-tension, run-in, final-setting or re-check; without, it is the one that goes on or is due. Pluck
    the span once, like a string, and let it ring out: no key is needed between plucks. Each pluck is in the archive
    before it is shown. The pass ends by itself when it has its readings. Ctrl-C stops the listening; what was shown
    is kept, and the same command goes on later. A run-in is listened to until Ctrl-C; with --turned, until its
    revolutions are done.
    """
    require_end(seconds)
    job, named = _job_and_pass(words)
    how = told_from(typed)
    with opened(archive) as there, Microphone(device_from(device)) as microphone:
        sound = StoppableSound(microphone, seconds)
        number = number_of(there, job)
        begun = begin_or_go_on(there, number, named, reason, by, is_turned=turned is not None)
        tell_note(SHORT_CAUTION)
        tell_note(f"Listening on {sound.name} at {sound.sample_rate_hz:g} Hz. Pluck; Ctrl-C stops.")
        report = PassReport(begun, how, as_json)
        report.begin(begun)
        keeper = PluckKeeper(there, begun, report, by, turned, go_on=go_on)
        failed = False
        with ctrl_c_stops(sound):
            try:
                for reading in read_source(sound, BeltTask()):
                    keeper.keep(reading, is_recording=False)
                    if keeper.has_enough or keeper.n_readings == n_plucks:
                        break
            except DeviceError as error:
                failed = True
                tell_trouble(str(error), as_json, source=sound.name)
        report.end(keeper.end_if_complete(), n_unreadable=int(failed))
    if failed:
        return ExitCode.MICROPHONE
    return ExitCode.DONE if keeper.n_readings else ExitCode.NO_READING


@click.command(name="read")
@click.argument("words", nargs=-1, required=True, type=click.Path(readable=False), metavar="[JOB] FILE...")
@click.option(
    "--pass",
    "pass_word",
    type=click.Choice(list(PASSES)),
    help="Which pass.  [default: the one that goes on or is due]",
)
@_pass_options
@writing_options
def read_command(
    words: tuple[str, ...],
    pass_word: str | None,
    turned: float | None,
    reason: str,
    go_on: bool,
    archive: str | None,
    by: str,
    as_json: bool,
    **typed: Any,
) -> ExitCode:
    """Read the plucks of a pass from recordings.

    Any usual sound or video file will do. The first word is the job, unless it is a file. Each pluck is in the
    archive before it is shown. If the reading was broken off, give the same recordings again: what is kept already
    is not kept twice. The pass ends when all files are read and it has its readings; if one of them cannot be read,
    it goes on.
    """
    job, files = _job_and_files(words)
    how = told_from(typed)
    with opened(archive) as there:
        named = None if pass_word is None else PASSES[pass_word]
        number = number_of(there, job)
        try:
            begun = begin_or_go_on(there, number, named, reason, by, is_turned=turned is not None)
        except InputError:
            if reason or not are_kept_already(files, there.job(number)):
                raise
            return ExitCode.DONE
        report = PassReport(begun, how, as_json)
        report.begin(begun)
        keeper = PluckKeeper(there, begun, report, by, turned, go_on=go_on)
        try:
            n_unreadable = sum(not _is_read(path, keeper, as_json) for path in files)
        except KeyboardInterrupt:
            tell_note("Stopped: what was shown is kept, and the pass goes on when the same is read again.")
            raise
        if keeper.n_known:
            plucks = "1 pluck was" if keeper.n_known == 1 else f"{keeper.n_known} plucks were"
            tell_note(f"{plucks} kept before, and not kept twice.")
        report.end(keeper.end_if_complete(is_whole=not n_unreadable), n_unreadable)
    if n_unreadable:
        return ExitCode.INPUT
    return ExitCode.DONE if keeper.n_readings else ExitCode.NO_READING


def _is_read(path: Path, keeper: PluckKeeper, as_json: bool) -> bool:
    """Keep the plucks of a recording; False if it cannot be read, or not to its end, which is told."""
    n_before = keeper.n_heard
    try:
        for reading in read_recording(path, BeltTask()):
            keeper.keep(reading, is_recording=True)
    except RecordingError as error:
        tell_trouble(str(error), as_json, source=path.name, path=path)
        return False
    if keeper.n_heard == n_before:
        tell_note(f"{path}: no pluck was heard.")
    return True


def _job_and_pass(words: tuple[str, ...]) -> tuple[str | None, PassKind | None]:
    """Tell job and pass apart where one of them, or both, are left out; a pass's word is a pass."""
    if len(words) == 1 and words[0] in PASSES:
        return None, PASSES[words[0]]
    if len(words) < 2:
        return job_and_rest(words)[0], None
    job, (word,) = job_and_rest(words, 1)
    if word not in PASSES:
        raise InputError(f"there is no pass {word!r}, but {', '.join(PASSES)}")
    return job, PASSES[word]


def _job_and_files(words: tuple[str, ...]) -> tuple[str | None, list[Path]]:
    """Tell the job from the recordings: the first word is the job, unless it is a file."""
    is_file = _is_there(words[0])
    files = [Path(word) for word in (words if is_file else words[1:])]
    if not files:
        raise InputError(
            f"there is no file {words[0]}: is the name right, or is a file missing behind the job?"
        )
    if not any(_is_there(path) for path in files):
        raise InputError(f"there is no file {files[0]}: is the name right?")
    return (None if is_file else words[0]), files


def _is_there(path: str | Path) -> bool:
    try:
        return Path(path).exists()
    except (OSError, ValueError):  # a null character, or a name that is too long
        return False
