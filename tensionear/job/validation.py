"""What is wrong with a document, told to a person: the field, the value that stands there, and the limit."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from pydantic import ValidationError

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

_LONGEST_VALUE = 60
_MOST_FAULTS = 3


def faults_of(error: ValidationError) -> str:
    """Say what is wrong, the first few faults of many.

    Parameters
    ----------
    error : ValidationError
        As pydantic raised it.
    """
    faults = [_fault(each) for each in error.errors(include_url=False)]
    more = len(faults) - _MOST_FAULTS
    said = "; ".join(faults[:_MOST_FAULTS])
    return f"{said}; and {more} more" if more > 0 else said


def _fault(fault: "ErrorDetails") -> str:
    place = _place(fault["loc"])
    if fault["type"] == "missing":
        return f"{place} is missing"
    if fault["type"] == "extra_forbidden":
        return f"{place} is not known: is it misspelt, or from a newer program?"
    if fault["type"] == "value_error":
        said = str(fault["ctx"]["error"])
        return f"{place}: {said}" if place else said
    if fault["type"] in ("string_too_short", "too_short") and not str(fault["input"]).strip():
        return f"{place} is empty"
    if not place:
        return str(fault["msg"])
    limit = fault["msg"].removeprefix("Input ").removeprefix("Value ")
    return f"{place} {_shown(fault['input'])} {limit}"


def _place(location: Iterable[int | str]) -> str:
    """Write where a value stands: the names of the fields, from 1 where there are several of one."""
    said = ""
    for each in location:
        said += f"[{each + 1}]" if isinstance(each, int) else f".{each}" if said else each
    return said


def _shown(value: object) -> str:
    said = repr(value)
    return said if len(said) <= _LONGEST_VALUE else f"{said[:_LONGEST_VALUE]}..."
