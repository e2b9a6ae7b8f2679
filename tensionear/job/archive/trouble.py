"""Trouble with the database, told in words: the one place where the exceptions of its libraries are translated."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from tensionear.errors import ArchiveError

LONGEST_WAIT_S = 60.0
"""How long a write waits for the others."""

_OF_SQLITE = {
    "SQLITE_READONLY": "it can be read but not written: may you write the file and its folder?",
    "SQLITE_FULL": "the disk is full: nothing was written; make room and do it again",
    "SQLITE_BUSY": f"another program has kept it locked for {LONGEST_WAIT_S:g} s: nothing was written; do it again",
    "SQLITE_LOCKED": "another program has it locked: nothing was written; do it again",
    "SQLITE_NOTADB": "the file is no archive, or its beginning is damaged: is it the right file?",
    "SQLITE_CORRUPT": "it is damaged: nothing was written; `tensionear archive salvage` brings over what is readable",
    "SQLITE_CANTOPEN": "it cannot be opened: is the path right, and may you write the folder that it is in?",
    "SQLITE_PERM": "it cannot be opened: may you read and write the file?",
    "SQLITE_IOERR": "the disk could not be read or written, and the last entry may be lost: is it failing or gone?",
    "SQLITE_PROTOCOL": "it cannot be locked: is it on a network drive? Keep it on a disk of this computer",
    "SQLITE_TOOBIG": "a sound or photo is larger than the database can hold",
}

_OF_POSTGRESQL = {
    "28": "the server does not accept the user or the password: are both right?",
    "3D": "the server has no database of that name: make it first (createdb)",
    "42501": "the user may not do that in the database: it needs the right to make and write tables",
    "25006": "the server can only be read now: is it a standby?",
    "53100": "the server's disk is full: nothing was written; make room and do it again",
    "53": "the server is short of memory or connections: nothing was written; do it again later",
    "55P03": f"another program has kept it locked for {LONGEST_WAIT_S:g} s: nothing was written; do it again",
    "57P": "the server was shut down: do it again when it is there",
    "57014": "the server broke it off: nothing was written; do it again",
    "40": "another program was in the way: nothing was written; do it again",
    "XX001": "it is damaged: nothing was written; restore a backup of the server",
    "XX002": "an index of it is damaged: nothing was written; have the server's keeper run REINDEX",
    "08": "the server is out of reach: does it run, and are host and port right?",
}
"""By the beginning of SQLSTATE (PostgreSQL, appendix A); the longest that fits counts."""


@contextmanager
def told(shown: str) -> Iterator[None]:
    """Turn what goes wrong with the database into an `ArchiveError`.

    Parameters
    ----------
    shown : str
        The archive as a person may see it: without a password.

    Raises
    ------
    ArchiveError
        If the database or its library complains.
    """
    try:
        yield
    except DBAPIError as error:
        raise ArchiveError(f"archive {shown}: {_reason(error.orig)}") from error
    except sqlite3.Error as error:  # where SQLite is called without SQLAlchemy
        raise ArchiveError(f"archive {shown}: {_reason(error)}") from error
    except UnicodeDecodeError as error:  # of a damaged name, where SQLite's driver tells of something else
        raise ArchiveError(f"archive {shown}: {_OF_SQLITE['SQLITE_CORRUPT']}") from error
    except SQLAlchemyError as error:
        raise ArchiveError(f"archive {shown}: it cannot be used ({_first_line(error)})") from error


def _reason(original: BaseException | None) -> str:
    of_sqlite = getattr(original, "sqlite_errorname", None)
    if isinstance(of_sqlite, str):
        known = next((said for name, said in _OF_SQLITE.items() if of_sqlite.startswith(name)), None)
        return known or _other(original)
    text = str(original)
    if text.startswith("Could not decode to UTF-8"):
        return _OF_SQLITE["SQLITE_CORRUPT"]
    state = getattr(original, "sqlstate", None)
    if state is None and type(original).__module__.startswith("psycopg"):
        # While it connects, psycopg tells no SQLSTATE.
        if "authentication failed" in text or "no password supplied" in text:
            state = "28"
        elif 'database "' in text and "does not exist" in text:
            state = "3D"
        elif type(original).__name__ in {"OperationalError", "ConnectionTimeout"}:
            state = "08"
    if isinstance(state, str):
        fitting = [begin for begin in _OF_POSTGRESQL if state.startswith(begin)]
        if fitting:
            return _OF_POSTGRESQL[max(fitting, key=len)]
    return _other(original)


def _other(original: BaseException | None) -> str:
    return f"the database refused it, and nothing was written ({_first_line(original)})"


def _first_line(error: BaseException | None) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0]
