"""The index of words: FTS5 on SQLite [1]_, a GIN index on PostgreSQL [2]_.

Both are handed words that Python took apart (`tensionear.job.archive.words`), and only look up their beginnings. So
the two give the same answers, and neither's own idea of a word or of a language matters.

References
----------
.. [1] SQLite FTS5 Extension, 4.3.2 (ascii tokenizer: every character beyond ASCII is a letter), 4.4.3 (external
   content tables), 4.6 (detail).
.. [2] PostgreSQL, 12.1.2 (tsquery, prefix matching with ``:*``), 9.13 (array_to_tsvector).
"""

from sqlalchemy import ColumnElement, Select, column, func, table
from sqlalchemy.dialects.postgresql import TSQUERY
from sqlalchemy.sql.expression import cast, literal

from tensionear.job.archive.tables import JOBS

NAME = "job_words"

Alternatives = tuple[tuple[str, ...], ...]


def is_of_index(name: str | None) -> bool:
    """Whether a table or an index belongs to the index of words and not to `tensionear.job.archive.tables`."""
    return name is not None and name.startswith(NAME)


def with_words(
    chosen: Select[tuple[object, ...]], wanted: list[Alternatives], dialect: str
) -> Select[tuple[object, ...]]:
    """Choose only the jobs that hold all the words, newest first.

    Where words are looked for, that is the order in which the archive was given the jobs: the same, unless the clock
    was set back.

    Parameters
    ----------
    chosen : Select
        Of jobs.
    wanted : list of Alternatives
        As `words.sought` gives them; all of them have to be met, by one of their alternatives each.
    dialect : str
        "sqlite" or "postgresql".
    """
    if not wanted:
        return chosen.order_by(JOBS.c.opened_at.desc(), JOBS.c.id.desc())
    if dialect == "sqlite":
        # Walked from its end, FTS5 gives the newest first and stops when the page is full.
        index = table(NAME, column("rowid"), column(NAME))
        met: ColumnElement[bool] = index.c[NAME].op("MATCH", is_comparison=True)(_for_fts5(wanted))
        return chosen.join(index, index.c.rowid == JOBS.c.id).where(met).order_by(index.c.rowid.desc())
    words = func.array_to_tsvector(func.string_to_array(JOBS.c.words, " "))
    query = cast(literal(_for_postgresql(wanted)), TSQUERY)
    return chosen.where(words.op("@@", is_comparison=True)(query)).order_by(JOBS.c.id.desc())


def _for_fts5(wanted: list[Alternatives]) -> str:
    return _written(wanted, " AND ", " OR ", '"{}" *')


def _for_postgresql(wanted: list[Alternatives]) -> str:
    return _written(wanted, " & ", " | ", "'{}':*")


def _written(wanted: list[Alternatives], both: str, either: str, beginning: str) -> str:
    """The words hold letters, digits and underscores only, so nothing in them has to be escaped."""
    return both.join(
        "(" + either.join("(" + both.join(map(beginning.format, each)) + ")" for each in alternatives) + ")"
        for alternatives in wanted
    )
