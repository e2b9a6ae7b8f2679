"""Where two documents differ, and by how much."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

ROUNDING = 1e-9
"""Figures that differ by a smaller share were computed by other arithmetic and are the same. [1]"""
_N_SHOWN = 80


@dataclass(frozen=True)
class Difference:
    """A value that is one thing here and another there.

    Attributes
    ----------
    where : str
        Names and numbers from the outside in, with dots, such as ``passes.2.tension.value``.
    stated, found : object
        JSON values; None also stands for what is not there.
    """

    where: str
    stated: Any
    found: Any

    @property
    def words(self) -> str:
        """The difference for people."""
        start = _same_start(self.stated, self.found)
        said = f"{self.where}: {_shown(self.stated, start)} is stated, {_shown(self.found, start)} is found"
        if _are_numbers(self.stated, self.found) and self.stated != 0:
            return f"{said} ({100 * (self.found / self.stated - 1):+.2g} %)"
        return said


def differences(stated: Any, found: Any, where: str = "") -> Iterator[Difference]:
    """Compare two JSON values.

    Parameters
    ----------
    stated, found : dict, list, str, int, float, bool or None
        What a document says, and what it should say.
    where : str
        Name of the whole.
    """
    if isinstance(stated, dict) and isinstance(found, dict):
        for name in (*stated, *(name for name in found if name not in stated)):
            yield from differences(stated.get(name), found.get(name), _inside(where, name))
    elif isinstance(stated, list) and isinstance(found, list):
        for place in range(max(len(stated), len(found))):
            one, other = (each[place] if place < len(each) else None for each in (stated, found))
            yield from differences(one, other, _inside(where, str(place + 1)))
    elif not _are_equal(stated, found):
        yield Difference(where, stated, found)


def _inside(where: str, name: str) -> str:
    return f"{where}.{name}" if where else name


def _are_equal(one: Any, other: Any) -> bool:
    if _are_numbers(one, other):
        return math.isclose(one, other, rel_tol=ROUNDING, abs_tol=1e-12)
    return type(one) is type(other) and bool(one == other)


def _are_numbers(one: Any, other: Any) -> bool:
    return all(isinstance(each, int | float) and not isinstance(each, bool) for each in (one, other))


def _same_start(one: Any, other: Any) -> int:
    """How much of two long texts may be left out at their start, so that where they differ is among what is shown."""
    if not isinstance(one, str) or not isinstance(other, str):
        return 0
    differ = (place for place, pair in enumerate(zip(one, other, strict=False)) if pair[0] != pair[1])
    return max(0, next(differ, min(len(one), len(other))) - _N_SHOWN // 4)


def _shown(value: Any, start: int = 0) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, str):
        return ("..." if start else "") + ascii(value[start:])[:_N_SHOWN]
    return f"{value:.10g}" if isinstance(value, float) else ascii(value)[:_N_SHOWN]
