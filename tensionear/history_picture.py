"""The history of one vehicle or setup: the mean of each pass over the dates of its jobs, with the tolerance band.

Each kind of pass has a shape of its own, each job its number above; of a demonstration the number is in brackets.
A job's passes of one day would lie on one another: they are set side by side, in their order, around their day.
"""

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.dates import AutoDateLocator, ConciseDateFormatter, date2num
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from tensionear.tension_axes import (
    MEAN_COLOUR,
    POINTS_PER_MM,
    Band,
    Mean,
    corridor_handle,
    draw_corridor,
    draw_mean,
    explain,
    frame_values,
    new_figure,
    png_of,
    write,
)

_LEFT_MM, _RIGHT_MM, _ABOVE_MM, _BELOW_MM = 14.0, 4.0, 18.0, 15.0
_SIZE, _LINE_POINTS = 6.0, 7.5
_MARK_POINTS = 4.5
_APART_MM = 3.0
"""Passes nearer to each other than this are set side by side."""
_LETTER_MM = 1.35
"""Width of a letter of a job's number, on the wide side."""
_MARKERS = "osD^vPX"
"""Shapes of the kinds of pass, in the order in which they are met."""
_MOST_ROWS_OF_NUMBERS = 4


@dataclass(frozen=True)
class HistoryPass:
    """A pass of a job.

    Attributes
    ----------
    at : datetime
        When, with a time zone.
    job_number : str
        Of its job.
    pass_name : str
        Its kind, such as "final setting".
    mean : Mean
        [the history's unit]
    band : Band or None
        The band that held for it.
    is_demonstration : bool
        Whether its job is one.
    """

    at: datetime
    job_number: str
    pass_name: str
    mean: Mean
    band: Band | None = None
    is_demonstration: bool = False


@dataclass(frozen=True)
class TensionHistory:
    """What is drawn.

    Attributes
    ----------
    passes : tuple of HistoryPass
        In any order.
    title : str
        Whose history it is.
    quantity, unit : str
        What the values are.
    """

    passes: tuple[HistoryPass, ...] = ()
    title: str = ""
    quantity: str = "static tension"
    unit: str = "N"

    @property
    def in_order(self) -> tuple[HistoryPass, ...]:
        """The passes, the earliest first."""
        return tuple(sorted(self.passes, key=lambda each: each.at))


def history_figure(history: TensionHistory, width_mm: float = 170.0, height_mm: float = 100.0) -> Figure:
    """The history as a figure.

    Parameters
    ----------
    history : TensionHistory
        What is drawn.
    width_mm, height_mm : float
        Size on the page. [mm]
    """
    figure = new_figure(width_mm, height_mm)
    room_mm = width_mm - _LEFT_MM - _RIGHT_MM
    axes = figure.add_axes(
        (
            _LEFT_MM / width_mm,
            _BELOW_MM / height_mm,
            room_mm / width_mm,
            (height_mm - _BELOW_MM - _ABOVE_MM) / height_mm,
        )
    )
    passes = history.in_order
    n_left_out = 0
    ends = [end for each in passes for end in each.mean.ends]
    limits = [limit for each in passes if each.band for limit in each.band.limits]
    frame_values(axes, [*ends, *limits], history.quantity, history.unit, _SIZE)
    if passes:
        day_mm = _frame_dates(axes, passes, room_mm)
        apart = min(_APART_MM, 0.5 * room_mm / len(passes)) / day_mm
        for band, start, end in _corridors(passes, apart):
            draw_corridor(axes, band, start, end, history.unit, _SIZE)
        places = _places(passes, apart)
        markers = _markers(passes)
        for each, place in zip(passes, places, strict=True):
            draw_mean(axes, place, each.mean, markers[each.pass_name], _MARK_POINTS)
        n_left_out = _number_jobs(axes, passes, places, day_mm)
    else:
        axes.set_xticks([])
        write(axes, (0.5, 0.5), "no pass with a mean", _SIZE, across=True, ha="center", style="italic")
    above = (0.0, (_ABOVE_MM - 4.0) * POINTS_PER_MM)
    write(
        axes,
        (axes.get_xlim()[0], 1.0),
        history.title,
        _SIZE + 2.0,
        above,
        across=True,
        weight="bold",
        ha="left",
    )
    explain(figure, list(_handles(passes, n_left_out)), _SIZE)
    return figure


def history_png(
    history: TensionHistory, width_mm: float = 170.0, height_mm: float = 100.0, dpi: float = 300.0
) -> bytes:
    """The history as PNG.

    Parameters
    ----------
    history : TensionHistory
        What is drawn.
    width_mm, height_mm : float
        Size on the page. [mm]
    dpi : float
        [dots per inch]
    """
    return png_of(history_figure(history, width_mm, height_mm), dpi)


def draw_history(
    history: TensionHistory, path: Path, width_mm: float = 170.0, height_mm: float = 100.0, dpi: float = 300.0
) -> None:
    """Draw the history into a PNG file.

    Parameters
    ----------
    history : TensionHistory
        What is drawn.
    path : Path
        The file.
    width_mm, height_mm : float
        Size on the page. [mm]
    dpi : float
        [dots per inch]

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    path.write_bytes(history_png(history, width_mm, height_mm, dpi))


def _day(each: HistoryPass) -> float:
    """Date as matplotlib counts it. [d]."""
    return float(date2num(each.at))  # type: ignore[no-untyped-call]


def _frame_dates(axes: Axes, passes: Sequence[HistoryPass], room_mm: float) -> float:
    """Let the width reach over the dates; return how many millimetres a day has."""
    first, last = passes[0].at, passes[-1].at
    margin = max(0.08 * (last - first), timedelta(days=3))
    axes.set_xlim(float(date2num(first - margin)), float(date2num(last + margin)))  # type: ignore[no-untyped-call]
    locator = AutoDateLocator(minticks=3, maxticks=9)  # type: ignore[no-untyped-call]
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(_date_words(locator))
    axes.xaxis.get_offset_text().set(fontsize=_SIZE)
    start, end = axes.get_xlim()
    return room_mm / (end - start)


def _date_words(locator: AutoDateLocator) -> ConciseDateFormatter:
    """Dates in figures only, largest unit first, which no language or locale changes."""
    return ConciseDateFormatter(  # type: ignore[no-untyped-call]
        locator,
        formats=["%Y", "%Y-%m", "%m-%d", "%H:%M", "%H:%M", "%S"],
        zero_formats=["", "%Y", "%Y-%m", "%Y-%m-%d", "%H:%M", "%H:%M"],
        offset_formats=["", "", "%Y", "%Y-%m", "%Y-%m-%d", "%Y-%m-%d"],
    )


def _places(passes: Sequence[HistoryPass], apart: float) -> list[float]:
    """Where the passes stand: on their dates, those of one job moved aside as little as keeps them apart. [d]."""
    places = [_day(each) for each in passes]
    by_job: dict[str, list[int]] = {}
    for index, each in enumerate(passes):
        by_job.setdefault(each.job_number, []).append(index)
    for indices in by_job.values():
        groups: list[list[float]] = []
        for index in indices:
            groups.append([places[index]])
            # Groups that have grown into each other become one, in the middle of its own dates.
            while len(groups) > 1 and _start(groups[-1], apart) - _end(groups[-2], apart) < apart:
                last = groups.pop()
                groups[-1].extend(last)
        moved = [_start(group, apart) + apart * step for group in groups for step in range(len(group))]
        for index, place in zip(indices, moved, strict=True):
            places[index] = place
    return places


def _start(group: Sequence[float], apart: float) -> float:
    return float(np.mean(group)) - apart * (len(group) - 1) / 2.0


def _end(group: Sequence[float], apart: float) -> float:
    return float(np.mean(group)) + apart * (len(group) - 1) / 2.0


def _corridors(passes: Sequence[HistoryPass], apart: float) -> Iterator[tuple[Band, float, float]]:
    """Each band from the first pass that it held for to the last one."""
    placed = list(zip(passes, _places(passes, apart), strict=True))
    for band in dict.fromkeys(each.band for each in passes if each.band is not None):
        places = [place for each, place in placed if each.band == band]
        yield band, min(places) - apart, max(places) + apart


def _markers(passes: Sequence[HistoryPass]) -> dict[str, str]:
    names = dict.fromkeys(each.pass_name for each in passes)
    return dict(zip(names, itertools.cycle(_MARKERS), strict=False))


def _number_jobs(axes: Axes, passes: Sequence[HistoryPass], places: Sequence[float], day_mm: float) -> int:
    """Write the jobs' numbers above their passes where there is room for them; return how many are left out."""
    left, right = axes.get_xlim()
    ends = [-math.inf] * _MOST_ROWS_OF_NUMBERS
    spans: dict[str, list[float]] = {}
    for each, place in zip(passes, places, strict=True):
        words = f"[{each.job_number}]" if each.is_demonstration else each.job_number
        spans.setdefault(words, []).append(place)
    n_left_out = 0
    for words, held in sorted(spans.items(), key=lambda job: job[1][0] + job[1][-1]):
        half = _LETTER_MM * (len(words) + 1) / 2.0 / day_mm
        middle = min(max((held[0] + held[-1]) / 2.0, left + half), right - half)
        free = [row for row, end in enumerate(ends) if middle - half > end]
        if not free:
            n_left_out += 1
            continue
        ends[free[0]] = middle + half
        offset = (0.0, 2.5 + free[0] * _LINE_POINTS)
        write(axes, (middle, 1.0), words, _SIZE, offset, across=True, ha="center")
        if free[0]:
            axes.axvline(middle, color="#bbbbbb", linewidth=0.4, zorder=0.2)
    return n_left_out


def _handles(passes: Sequence[HistoryPass], n_left_out: int) -> Iterator[Line2D | Patch]:
    """What the legend explains: only what is drawn."""
    for name, marker in _markers(passes).items():
        yield Line2D(
            [],
            [],
            color=MEAN_COLOUR,
            marker=marker,
            markersize=_MARK_POINTS,
            markerfacecolor="white",
            linestyle="none",
            label=f"{name}, mean ± expanded uncertainty" if marker == _MARKERS[0] else name,
        )
    if any(each.band for each in passes):
        yield corridor_handle("tolerance band")
    if any(each.is_demonstration for each in passes):
        yield Line2D([], [], linestyle="none", label="[ ]: demonstration")
    if n_left_out:
        yield Line2D([], [], linestyle="none", label=f"jobs without room for their numbers: {n_left_out}")
