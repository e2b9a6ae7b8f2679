"""The command line. Each command is a module of its own and is imported only when it is asked for."""

import io
import os
import sys
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

import click

from tensionear import __version__
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.outlined_group import OutlinedGroup
from tensionear.cli.trouble import tell_bug, tell_note, tell_trouble
from tensionear.errors import ArchiveError, BundleError, DeviceError, TensionearError

COMMANDS = {
    "read": "Read the plucks in recordings.",
    "listen": "Read plucks as they are heard by a microphone.",
    "tension": "Compute tension from frequency, or frequency from tension.",
    "span": "Find the length of a span, or all spans of a drive.",
    "band": "Bring what the manufacturer specifies to newtons and hertz.",
    "calibrate": "Find how stiff a belt is, by plucking it.",
    "setup": "Keep what is known of a belt span on an engine.",
    "job": "Do a job pass by pass, and keep it.",
    "archive": "Look after the archive in which jobs and setups are kept.",
    "record": "Make records of jobs, and the bundles that carry them.",
    "verify": "Check whether record bundles are what they were.",
    "history": "Show how the belt of a vehicle, or the belts of a setup, were found over time.",
    "reanalyse": "Read kept plucks, or a folder of recordings, anew and tell what changed.",
    "key": "Make and show the workshop's key, with which records are signed.",
    "devices": "List the microphones, or check one.",
    "cautions": "Say what to mind before a belt drive is touched.",
    "completion": "Print what makes a shell complete commands at the Tab key.",
}

EPILOG = """\b
Example:
  tensionear listen --span-length-mm 213 --linear-density-g-per-m 165 --band-hz 110 122 --source "page 12"

\b
Exit codes:
  0    done; of "read" and "listen", at least one pluck was read
  1    a fault of tensionear itself; a log file, whose path is told, says more
  2    wrong usage, or a value or a file that cannot be used
  3    no pluck could be read
  4    trouble with the microphone
  5    trouble with the archive of jobs
  6    what was checked is not what it was: damaged, changed or incomplete
  130  stopped with Ctrl-C (listen ends normally instead)
  141  whoever took the output closed it

\b
With --json, trouble is told on the error output as ever, and also as a line
of kind "error" among the others.
"""


@click.group(
    cls=OutlinedGroup,
    package=__name__,
    summaries=COMMANDS,
    epilog=EPILOG,
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(__version__, prog_name="tensionear")
def commands() -> None:
    """Hear how tight a timing belt is.

    Pluck the span; from the sound tensionear finds the span's fundamental frequency and, with the span length
    and the belt's linear density, its static tension, how sure that is, and whether it lies in the tolerance
    band that the vehicle manufacturer gives. What cannot be read surely is refused, with the reason.

    For trained technicians. The vehicle manufacturer's procedure and values win over anything said here;
    see "tensionear cautions".
    """


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command line and leave with its exit code.

    Parameters
    ----------
    arguments : sequence of str, optional
        What was typed after ``tensionear``; by default the process's own arguments. Nothing asks for help.

    Raises
    ------
    SystemExit
        Always, with a value of `ExitCode`.
    """
    arguments = list(sys.argv[1:] if arguments is None else arguments)
    _open_closed_streams()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a terminal without "±" must not stop a reading
            stream.reconfigure(errors="replace")
    # The matrices are small: more threads gain nothing and lose much on a machine that is busy otherwise.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        code = _run(arguments)
        sys.stdout.flush()
    except BrokenPipeError:
        code = ExitCode.OUTPUT_CLOSED
    except OSError as error:  # of the output only: _run keeps all others
        code = ExitCode.INPUT
        reason = error.strerror or error
        tell_note(f"tensionear: the output cannot be written ({reason}): what was told there is not complete")
    _give_up_broken_streams()
    sys.exit(code)


def _open_closed_streams() -> None:
    """Put a sink where an output was closed before the start, lest a file that is opened later takes its place."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, Path(os.devnull).open("w", encoding="utf-8"))  # noqa: SIM115 - for good


def _give_up_broken_streams() -> None:
    """Replace outputs that cannot be written, else Python itself complains of them when it ends."""
    for name in ("stdout", "stderr"):
        try:
            getattr(sys, name).flush()
        except OSError:
            setattr(sys, name, io.StringIO())


def _is_of_the_output(error: OSError) -> bool:
    """Whether it was an answer that could not be written: they all go through `click.echo`."""
    return any(frame.f_code is click.echo.__code__ for frame, _ in traceback.walk_tb(error.__traceback__))


def _exit_code_of(error: TensionearError) -> ExitCode:
    codes = {
        DeviceError: ExitCode.MICROPHONE,
        ArchiveError: ExitCode.ARCHIVE,
        BundleError: ExitCode.NOT_AS_IT_WAS,
    }
    return next((code for kind, code in codes.items() if isinstance(error, kind)), ExitCode.INPUT)


def _run(arguments: list[str]) -> int:
    as_json = "--json" in arguments
    try:
        result = commands.main(arguments or ["--help"], prog_name="tensionear", standalone_mode=False)
    except click.ClickException as error:
        if isinstance(error, click.UsageError) and error.ctx is not None:
            tell_note(f'{error.ctx.get_usage()}\nSee "{error.ctx.command_path} --help".')
        tell_trouble(error.format_message(), as_json)
        return ExitCode.INPUT
    except click.Abort:
        return ExitCode.INTERRUPTED
    except TensionearError as error:
        tell_trouble(str(error), as_json)
        return _exit_code_of(error)
    except Exception as error:  # the last line of defence: nobody is shown a traceback
        if isinstance(error, OSError) and _is_of_the_output(error):
            raise
        tell_bug(error, arguments, as_json)
        return ExitCode.BUG
    return result if isinstance(result, int) else ExitCode.DONE
