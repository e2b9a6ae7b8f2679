"""How trouble is told: a plain message for people, with ``--json`` also a line for programs."""

import sys
import traceback
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

import click

from tensionear import __version__
from tensionear.cli.json_lines import readable, write_line


def tell_trouble(message: str, as_json: bool, source: str | None = None, path: Path | None = None) -> None:
    """Tell a person, and with `as_json` a program, what went wrong.

    Parameters
    ----------
    message : str
        What, and what to do about it.
    as_json : bool
        Whether a line of kind "error" goes to the standard output as well.
    source : str, optional
        Name of the recording or the microphone that it is about.
    path : Path, optional
        The file that it is about, as it was named.
    """
    tell_note(f"tensionear: {message}")
    if as_json:
        write_line(
            "error",
            source=None if source is None else readable(source),
            path=None if path is None else readable(str(path)),
            message=readable(message),
        )


def tell_note(message: str) -> None:
    """Tell a person something beside the output; where nobody can hear it, the work goes on all the same."""
    with suppress(OSError):
        click.echo(message, err=True)


def tell_bug(error: Exception, arguments: list[str], as_json: bool) -> None:
    """Write what is needed to mend a bug to the log file, and tell where that is."""
    what = f"{type(error).__name__}: {error}"
    try:
        log = _write_log(error, arguments)
    except OSError as log_error:
        where = f"no log could be written ({log_error})"
    else:
        where = f"{log} says more; please send it to those who look after tensionear"
    tell_trouble(f"this is a fault of tensionear itself, not of what you did ({what}); {where}", as_json)


def _write_log(error: Exception, arguments: list[str]) -> Path:
    from platformdirs import user_log_path  # only here: --help must be quick

    log = user_log_path("tensionear", appauthor=False, ensure_exists=True) / "tensionear.log"
    entry = (
        f"{datetime.now(UTC).isoformat(timespec='seconds')} tensionear {__version__}, "
        f"Python {sys.version.split()[0]} on {sys.platform}, arguments {arguments}\n"
        f"{''.join(traceback.format_exception(error))}\n"
    )
    with log.open("a", encoding="utf-8", errors="backslashreplace") as file:
        file.write(entry)
    return log
