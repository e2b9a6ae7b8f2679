"""The guided calibration: asks for one thing after the other, and again where an answer cannot be."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from tensionear.belt.calibration import Calibration
from tensionear.belt.estimate import Estimate
from tensionear.calibration_file import require_writable
from tensionear.calibration_task import CalibrationTask, Rig
from tensionear.cli.calibrate_options import (
    ENDS,
    density_from,
    ends_from,
    frequency_share,
    length_estimate,
    rig_from,
)
from tensionear.cli.layout import filled
from tensionear.cli.units import MILLIMETRE, Typed
from tensionear.errors import InputError
from tensionear.heard_spans import HeardSpan, recorded_plucks, typed_partials, typed_plucks

_Answer = TypeVar("_Answer")
_RIG, _SPANS, _PARTIALS = "rig", "spans", "partials"

_INTRODUCTION = (
    "How do you want to find the stiffness?\n"
    "  rig       a piece of the belt hangs with a known mass, and is plucked at\n"
    "            several lengths: best, and gives the linear density too\n"
    "  spans     two or more spans of different length on the engine, at rest\n"
    "  partials  one span on the engine, with several partials of its sound"
)
_HOW_TO_HANG = (
    "Clamp the belt at the top and just above the mass so that neither end can move sideways; hang the mass just"
    " above a soft floor, and keep feet and hands from under it. Short and long lengths together tell the most:"
    " such as 140, 220, 400 and 600 mm."
)


def ask(typed: dict[str, Any]) -> tuple[CalibrationTask, Calibration]:
    """Ask for what a calibration needs, and for more spans where those do not tell enough.

    Parameters
    ----------
    typed : dict
        What was typed as options; it is not asked for again.

    Returns
    -------
    CalibrationTask
        What was fitted.
    Calibration
        What came of it.

    Raises
    ------
    InputError
        If what was typed as options cannot be meant, or the spans do not tell enough and there are no more.
    """
    way = _way(typed)
    if way == _RIG:
        click.echo(filled(_HOW_TO_HANG))
    rig = _rig(typed) if way == _RIG else None
    density = _density(typed, way)
    ends = ends_from(typed["ends"] or _ends(rig), rig)
    frequency_share(typed)  # before many questions, not after them
    spans: list[HeardSpan] = []
    while True:
        n_before = len(spans)
        _ask_spans(spans, typed, way)
        task = CalibrationTask(tuple(spans), density, ends, rig)
        try:
            return task, task.calibration()
        except InputError as error:
            if len(spans) == n_before:
                raise
            click.echo(filled(f"{_capital(str(error))}{'' if str(error).endswith('?') else '.'}"))
            click.echo(filled("Go on with another span, or end with nothing."))


def ask_where_to_keep() -> Path | None:
    """Ask for the file in which the result is to be kept; None if it is not to be."""
    return _asked("Keep the result in the file (.json), or nothing", _path, may_be_empty=True)


def _way(typed: dict[str, Any]) -> str:
    if typed["hung_mass_kg"] is not None or typed["hung_mass_lb"] is not None:
        return _RIG
    click.echo(_INTRODUCTION)
    return str(click.prompt("Way", type=click.Choice([_RIG, _SPANS, _PARTIALS])))


def _rig(typed: dict[str, Any]) -> Rig | None:
    if typed["hung_mass_kg"] is not None or typed["hung_mass_lb"] is not None:
        return rig_from(typed)
    return _asked(
        "All that hangs below the span, in kg",
        lambda answer: rig_from({**typed, "hung_mass_kg": _number(answer)}),
    )


def _density(typed: dict[str, Any], way: str) -> Estimate | None:
    if typed["linear_density_g_per_m"] is not None or way == _RIG:
        return density_from(typed)
    return _asked(
        "Linear density of the belt, in g/m",
        lambda answer: density_from({**typed, "linear_density_g_per_m": _number(answer)}),
    )


def _ends(rig: Rig | None) -> str | None:
    if rig is not None:
        return None
    return str(click.prompt("How are the belt's ends held", type=click.Choice(list(ENDS)), default="unknown"))


def _ask_spans(spans: list[HeardSpan], typed: dict[str, Any], way: str) -> None:
    """Add spans until there is nothing more to add."""
    what = (
        "Its partials from the first on, - if not heard,"
        if way == _PARTIALS
        else "Fundamentals of its plucks"
    )
    while True:
        ending = ", or nothing to end" if spans else ""
        length = _asked(
            f"Length of span {len(spans) + 1} in mm{ending}",
            lambda answer: None if not answer and spans else _length(typed, answer),
            may_be_empty=bool(spans),
        )
        if length is None:
            return
        spans.append(
            _asked(
                f"{what} in Hz, or the name of a recording",
                lambda answer, length=length: _heard(typed, length, answer, way),  # type: ignore[misc]
            )
        )


def _length(typed: dict[str, Any], answer: str) -> Estimate:
    return length_estimate(typed, Typed("", _number(answer), MILLIMETRE))


def _heard(typed: dict[str, Any], length: Estimate, answer: str, way: str) -> HeardSpan:
    path = Path(answer.strip().strip("'\""))
    try:
        is_recording = path.is_file()
    except (OSError, ValueError):  # no name that a file can have
        is_recording = False
    if is_recording:
        return recorded_plucks(length, path, typed["with_partials"] or way == _PARTIALS)
    take = typed_partials if way == _PARTIALS else typed_plucks
    return take(length, answer, frequency_share(typed))


def _path(answer: str) -> Path | None:
    if not answer:
        return None
    path = Path(answer)
    require_writable(path)
    return path


def _number(answer: str) -> float:
    try:
        return float(answer)
    except ValueError as error:
        hint = ": write the decimals with a point, not a comma" if "," in answer else ""
        raise InputError(f"{answer!r} is not a number{hint}") from error


def _asked(question: str, understand: Callable[[str], _Answer], may_be_empty: bool = False) -> _Answer:
    """Ask until the answer is understood."""
    while True:
        answer = click.prompt(question, default="" if may_be_empty else None, show_default=False)
        try:
            return understand(answer.strip())
        except InputError as error:
            click.echo(filled(f"{_capital(str(error))}{'' if str(error).endswith('?') else '.'} Once more:"))


def _capital(sentence: str) -> str:
    return sentence[0].upper() + sentence[1:]
