"""``tensionear job next`` and the steps of a job that are no readings: cautions, tools, turning, checklist."""

import click

from tensionear.cli.archive_options import looking_options, opened, writing_options
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.job.doing import do, do_both, tell_done
from tensionear.cli.job.lines import write_step_line
from tensionear.cli.job.telling import tell_next
from tensionear.cli.job.which import job_and_rest, number_of, words_argument
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.layout import filled
from tensionear.cli.options import Number
from tensionear.cli.step_words import STEPS
from tensionear.errors import InputError
from tensionear.job import deeds
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.course import cautions_for
from tensionear.job.log import Fact
from tensionear.job.passes import PassKind, Step
from tensionear.job.setup import Direction


@click.command(name="next")
@words_argument()
@looking_options
def next_command(words: tuple[str, ...], archive: str | None, as_json: bool) -> ExitCode:
    """Say what is to be done now, and what is left."""
    job, _ = job_and_rest(words)
    with opened(archive) as there:
        found = there.job(number_of(there, job))
    if as_json:
        write_step_line(found)
    else:
        click.echo(f"Job {found.number}")
        tell_next(found)
    return ExitCode.DONE


@click.command(name="cautions")
@words_argument()
@click.option("--acknowledge", is_flag=True, help="You have read them all, and go by them; kept in the job.")
@writing_options
def cautions_command(
    words: tuple[str, ...], acknowledge: bool, archive: str | None, by: str, as_json: bool
) -> ExitCode:
    """Show the cautions of a job, and acknowledge them.

    Those that always hold, then the setup's own. Nothing can be read in a job before they are acknowledged.
    """
    job, _ = job_and_rest(words)
    with opened(archive) as there:
        found = there.job(number_of(there, job))
        cautions = cautions_for(found.setup)
        if as_json:
            write_line(
                "cautions",
                job=readable(found.number),
                cautions=list(cautions),
                are_acknowledged=set(cautions) <= set(found.state.acknowledged),
            )
        else:
            for caution in cautions:
                click.echo(filled(caution, "- ", "  "))
        if acknowledge:
            tell_done(
                there.write_down(
                    found.number, lambda job: deeds.acknowledge_cautions(job.state, job.setup), by
                ),
                as_json,
            )
        elif not as_json and not set(cautions) <= set(found.state.acknowledged):
            click.echo("Not acknowledged yet: add --acknowledge.")
    return ExitCode.DONE


@click.command(name="end-pass")
@words_argument()
@writing_options
def end_pass_command(words: tuple[str, ...], archive: str | None, by: str, as_json: bool) -> ExitCode:
    """End the pass that goes on, complete or not.

    A pass other than the run-in ends by itself when it has its readings.
    """
    return do(archive, job_and_rest(words)[0], lambda job: deeds.end_pass(job.state), by, as_json)


@click.command(name="tools-out")
@words_argument()
@writing_options
def tools_out_command(words: tuple[str, ...], archive: str | None, by: str, as_json: bool) -> ExitCode:
    """Note that the locking tools are out, all of them."""
    return do(
        archive, job_and_rest(words)[0], lambda job: deeds.do_step(job.state, Step.TOOLS_OUT), by, as_json
    )


@click.command(name="turn")
@words_argument("REVOLUTIONS")
@click.option(
    "--direction", type=click.Choice([each.value for each in Direction]), help="[default: as the setup says]"
)
@writing_options
def turn_command(
    words: tuple[str, ...], direction: str | None, archive: str | None, by: str, as_json: bool
) -> ExitCode:
    """Note that the engine was turned over by hand.

    REVOLUTIONS are those of this time; all of them are counted together.
    """
    job, (typed,) = job_and_rest(words, 1)
    revolutions = Number().convert(typed, None, click.get_current_context())
    turned = None if direction is None else Direction(direction)
    return do(archive, job, lambda job: deeds.turn(job.state, job.setup, revolutions, turned), by, as_json)


@click.command(name="top-dead-centre")
@words_argument()
@writing_options
def top_dead_centre_command(words: tuple[str, ...], archive: str | None, by: str, as_json: bool) -> ExitCode:
    """Note that the engine is at top dead centre, all marks aligned.

    A run-in pass that goes on ends with it.
    """
    with opened(archive) as there:
        number = number_of(there, job_and_rest(words)[0])
        done = do_both(
            there,
            number,
            (end_run_in, lambda job: deeds.do_step(job.state, Step.TOP_DEAD_CENTRE)),
            by,
            as_json,
        )
    if as_json:
        write_step_line(done)
    else:
        tell_next(done)
    return ExitCode.DONE


@click.command(name="skip")
@words_argument("STEP")
@click.option("--reason", required=True, metavar="TEXT", help="Why; kept in the record.")
@writing_options
def skip_command(
    words: tuple[str, ...], reason: str, archive: str | None, by: str, as_json: bool
) -> ExitCode:
    """Leave a step out, and say why.

    STEP is over-tension, tools-out, run-in, top-dead-centre or final-setting. The vehicle manufacturer's procedure
    wins over the course that is advised here.
    """
    job, (typed,) = job_and_rest(words, 1)
    if typed not in STEPS:
        raise InputError(f"there is no step {typed!r}, but {', '.join(STEPS)}")
    return do(archive, job, lambda job: deeds.skip_step(job.state, STEPS[typed], reason), by, as_json)


@click.command(name="tick")
@words_argument("LINE")
@click.option(
    "--value", type=Number(), metavar="VALUE", help="What was really used.  [default: as the line says]"
)
@writing_options
def tick_command(
    words: tuple[str, ...], value: float | None, archive: str | None, by: str, as_json: bool
) -> ExitCode:
    """Tick a line of the checklist.

    LINE is its number, as "tensionear job show" lists it.
    """
    job, (typed,) = job_and_rest(words, 1)
    number = whole_number(typed, "line")
    return do(archive, job, lambda job: deeds.tick(job.state, job.setup, number, value), by, as_json)


def whole_number(typed: str, what: str) -> int:
    """Read a number that counts something.

    Raises
    ------
    InputError
        If it is none.
    """
    if not (typed.isascii() and typed.isdecimal() and len(typed) < 10):
        raise InputError(f"{what} {typed!r} is not a whole number: which one is meant?")
    return int(typed)


def end_run_in(job: ArchivedJob) -> Fact | None:
    """End a run-in pass that goes on; anything else is left as it is."""
    goes_on = job.state.open_pass
    if goes_on is None or goes_on.kind is not PassKind.RUN_IN:
        return None
    return deeds.end_pass(job.state)
