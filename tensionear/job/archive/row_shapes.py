"""To which table of an archive a row belongs that was found without its table: told from its values."""

import re
from collections.abc import Callable
from datetime import datetime
from typing import Any

from sqlalchemy import Boolean, Column, Float, Integer, LargeBinary, String, Table

from tensionear.job.archive.sqlite_pages import FoundRow, Value
from tensionear.job.archive.tables import TABLES, Moment

_MOMENT = re.compile(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d(\.\d{1,6})?")
_HASH = re.compile(r"[0-9a-f]{64}")
_UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_FIXED = {64: _HASH, 36: _UUID}


def recognised(row: FoundRow) -> tuple[Table, dict[str, Any]] | None:
    """Find the one table of an archive that a row fits.

    Parameters
    ----------
    row : FoundRow
        A readable one.

    Returns
    -------
    Table
        The table.
    dict of str to object
        The row, as SQLAlchemy would give and take it.
    None
        If it fits no table, or more than one.
    """
    if row.values is None:
        return None
    fitting = [
        table
        for table, fits in _SHAPES.items()
        if len(fits) == len(row.values) and all(map(_fits, fits, row.values))
    ]
    if len(fitting) != 1:
        return None
    return fitting[0], {
        column.name: _read(column, row.rowid if _is_rowid(column) else value)
        for column, value in zip(fitting[0].columns, row.values, strict=True)
    }


def _fits(fits: Callable[[Value], bool], value: Value) -> bool:
    return fits(value)


def _is_rowid(column: "Column[Any]") -> bool:
    """SQLite keeps such a column as the row's own number, and NULL in its place."""
    return isinstance(column.type, Integer) and list(column.table.primary_key) == [column]


def _shape(column: "Column[Any]") -> Callable[[Value], bool]:
    if _is_rowid(column):
        return lambda value: value is None
    fits = _kind(column)
    return (lambda value: value is None or fits(value)) if column.nullable else fits


def _kind(column: "Column[Any]") -> Callable[[Value], bool]:
    kind = column.type
    if isinstance(kind, Moment):
        return _is_moment
    if isinstance(kind, Boolean):
        return lambda value: value in (0, 1)
    if isinstance(kind, Integer):
        return lambda value: isinstance(value, int)
    if isinstance(kind, Float):
        return lambda value: isinstance(value, int | float)
    if isinstance(kind, LargeBinary):
        return lambda value: isinstance(value, bytes)
    if isinstance(kind, String) and kind.length in _FIXED:
        pattern = _FIXED[kind.length]
        return lambda value: isinstance(value, str) and pattern.fullmatch(value) is not None
    return lambda value: isinstance(value, str)


def _is_moment(value: Value) -> bool:
    if not isinstance(value, str) or _MOMENT.fullmatch(value) is None:
        return False
    try:
        datetime.fromisoformat(value)
    except ValueError:  # such as a thirteenth month, after a flipped bit
        return False
    return True


def _read(column: "Column[Any]", value: Value) -> object:
    if isinstance(column.type, Moment) and isinstance(value, str):
        return Moment().process_result_value(datetime.fromisoformat(value), None)  # type: ignore[arg-type]
    return bool(value) if isinstance(column.type, Boolean) else value


_SHAPES = {table: [_shape(column) for column in table.columns] for table in TABLES}
