"""The pass ladder: a job's passes from left to right, tension upwards, the tolerance band across them.

Each pluck is a dot, each pass a mean with its expanded uncertainty as a bar. What was refused is counted below and
not drawn; what is not in the mean is hollow; a skipped pass is an empty column. The run-in's plucks stand at their
revolutions. Many passes are folded into rows.
"""

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from tensionear.metrology.decision import Verdict
from tensionear.tension_axes import (
    LINE_COLOUR,
    PLUCK_COLOUR,
    Band,
    Mean,
    corridor_handle,
    draw_corridor,
    draw_mean,
    explain,
    frame_values,
    mean_handle,
    new_figure,
    png_of,
    verdict_words,
    wrapped,
    write,
)

MOST_PASSES_IN_A_ROW = 8
_RUN_IN_WIDTH = 1.5
"""Width of a column with revolutions over that of another one."""
_LEFT_MM, _RIGHT_MM, _ABOVE_MM, _BELOW_MM, _LEGEND_MM = 14.0, 0.5, 10.0, 17.0, 5.0
_WIDEST_COLUMN_MM = 70.0
_SIZE, _SMALL_SIZE, _LINE_POINTS = 7.0, 6.0, 8.5
_MEAN_AT = 0.82
_PLUCKS_FROM, _PLUCKS_TO = 0.14, 0.66
"""Places in a column, as shares of its width."""


@dataclass(frozen=True)
class LadderPluck:
    """A pluck that was read.

    Attributes
    ----------
    value : float
        [the ladder's unit]
    is_in_mean : bool
        False of one that is marked or was struck out.
    revolution : float or None
        Revolutions of the run-in before it; None for not said.
    """

    value: float
    is_in_mean: bool = True
    revolution: float | None = None


@dataclass(frozen=True)
class LadderPass:
    """A column.

    Attributes
    ----------
    name : str
        Such as "over-tension" or "re-check, second".
    plucks : tuple of LadderPluck
        In the order of the day.
    n_refused : int
        How many more were refused.
    mean : Mean or None
        None if there is none, as of a run-in.
    band : Band or None
        The band that holds for the pass.
    verdict : Verdict or None
        None if there is none.
    words : str
        Stands in place of the verdict's own word, or says why there is none.
    when : str
        Date or time, as it is to be written.
    is_skipped : bool
        Whether the pass was left out.
    """

    name: str
    plucks: tuple[LadderPluck, ...] = ()
    n_refused: int = 0
    mean: Mean | None = None
    band: Band | None = None
    verdict: Verdict | None = None
    words: str = ""
    when: str = ""
    is_skipped: bool = False

    @property
    def revolutions(self) -> tuple[float, ...]:
        """Revolutions at which plucks stand, ascending."""
        return tuple(
            sorted({pluck.revolution for pluck in self.plucks if pluck.revolution is not None}),
        )

    @property
    def width(self) -> float:
        """Width of the column over that of an ordinary one."""
        return _RUN_IN_WIDTH if len(self.revolutions) > 1 else 1.0


@dataclass(frozen=True)
class PassLadder:
    """What is drawn.

    Attributes
    ----------
    passes : tuple of LadderPass
        From left to right.
    quantity, unit : str
        What the values are.
    band_name : str
        What the bands are.
    """

    passes: tuple[LadderPass, ...] = ()
    quantity: str = "static tension"
    unit: str = "N"
    band_name: str = "tolerance band"

    @property
    def rows(self) -> tuple[tuple[LadderPass, ...], ...]:
        """The passes in as few rows as can be read, none much longer than another."""
        n_rows = max(1, math.ceil(len(self.passes) / MOST_PASSES_IN_A_ROW))
        n_in_row = max(1, math.ceil(len(self.passes) / n_rows))
        starts = range(0, len(self.passes), n_in_row)
        return tuple(self.passes[start : start + n_in_row] for start in starts) or ((),)


def pass_ladder_figure(ladder: PassLadder, width_mm: float = 170.0, height_mm: float = 90.0) -> Figure:
    """The pass ladder as a figure.

    Parameters
    ----------
    ladder : PassLadder
        What is drawn.
    width_mm, height_mm : float
        Size on the page. [mm]
    """
    figure = new_figure(width_mm, height_mm)
    rows = ladder.rows
    widths = [sum(each.width for each in row) or 1.0 for row in rows]
    column_mm = min((width_mm - _LEFT_MM - _RIGHT_MM) / max(widths), _WIDEST_COLUMN_MM)
    row_mm = (height_mm - _LEGEND_MM) / len(rows)
    seen = _seen(ladder.passes)
    for number, (row, width) in enumerate(zip(rows, widths, strict=True)):
        axes = figure.add_axes(
            (
                _LEFT_MM / width_mm,
                (height_mm - (number + 1) * row_mm + _BELOW_MM) / height_mm,
                column_mm * width / width_mm,
                (row_mm - _BELOW_MM - _ABOVE_MM) / height_mm,
            )
        )
        frame_values(axes, seen, ladder.quantity, ladder.unit, _SMALL_SIZE)
        axes.set_xlim(0.0, width)
        axes.set_xticks([])
        _draw_row(axes, row, ladder.unit, column_mm)
    explain(figure, list(_handles(ladder)), _SMALL_SIZE)
    return figure


def pass_ladder_png(
    ladder: PassLadder, width_mm: float = 170.0, height_mm: float = 90.0, dpi: float = 300.0
) -> bytes:
    """The pass ladder as PNG.

    Parameters
    ----------
    ladder : PassLadder
        What is drawn.
    width_mm, height_mm : float
        Size on the page. [mm]
    dpi : float
        [dots per inch]
    """
    return png_of(pass_ladder_figure(ladder, width_mm, height_mm), dpi)


def draw_pass_ladder(
    ladder: PassLadder, path: Path, width_mm: float = 170.0, height_mm: float = 90.0, dpi: float = 300.0
) -> None:
    """Draw the pass ladder into a PNG file.

    Parameters
    ----------
    ladder : PassLadder
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
    path.write_bytes(pass_ladder_png(ladder, width_mm, height_mm, dpi))


def _seen(passes: Sequence[LadderPass]) -> list[float]:
    """What the height must reach over; plucks outside the mean are told at the edge instead."""
    counted = [pluck.value for each in passes for pluck in each.plucks if pluck.is_in_mean]
    ends = [end for each in passes if each.mean for end in each.mean.ends]
    limits = [limit for each in passes if each.band for limit in each.band.limits]
    return [*counted, *ends, *limits] or [pluck.value for each in passes for pluck in each.plucks]


def _draw_row(axes: Axes, row: Sequence[LadderPass], unit: str, column_mm: float) -> None:
    edges = [0.0, *itertools.accumulate(each.width for each in row)]
    for band, start, end in _corridors(row, edges):
        draw_corridor(axes, band, start, end, unit, _SMALL_SIZE)
    for edge in edges[1:]:
        axes.axvline(edge, color=LINE_COLOUR, linewidth=0.5, zorder=1)
    for each, start in zip(row, edges, strict=False):
        _draw_pass(axes, each, start, unit)
        _label_pass(axes, each, start + each.width / 2.0, each.width * column_mm)


def _corridors(row: Sequence[LadderPass], edges: Sequence[float]) -> Iterator[tuple[Band, float, float]]:
    """Bands with the columns that they hold for; one that goes on is one corridor."""
    for band, places in itertools.groupby(range(len(row)), lambda place: row[place].band):
        columns = list(places)
        if band is not None:
            yield band, edges[columns[0]], edges[columns[-1] + 1]


def _draw_pass(axes: Axes, each: LadderPass, start: float, unit: str) -> None:
    places = [start + each.width * share for share in _shares(each)]
    for place, pluck in zip(places, each.plucks, strict=True):
        _draw_pluck(axes, place, pluck, unit)
    if each.mean is not None:
        draw_mean(axes, start + each.width * _MEAN_AT, each.mean)
    if not each.plucks and each.mean is None:
        word = "skipped" if each.is_skipped else "no reading"
        middle = start + each.width / 2.0
        write(axes, (middle, 0.5), word, _SIZE, across=True, style="italic", ha="center", va="center")
    _number_revolutions(axes, each, places)


def _shares(each: LadderPass) -> list[float]:
    """Where the plucks stand, as shares of the column: at their revolutions if all have one, else evenly."""
    end = _PLUCKS_TO if each.mean is not None else 1.0 - _PLUCKS_FROM
    revolutions = each.revolutions
    if len(revolutions) > 1 and all(pluck.revolution is not None for pluck in each.plucks):
        first, reach = revolutions[0], revolutions[-1] - revolutions[0]
        steps = [((pluck.revolution or 0.0) - first) / reach for pluck in each.plucks]
    else:
        n = len(each.plucks)
        steps = [place / (n - 1) if n > 1 else 0.5 for place in range(n)]
    return [_PLUCKS_FROM + step * (end - _PLUCKS_FROM) for step in steps]


def _draw_pluck(axes: Axes, place: float, pluck: LadderPluck, unit: str) -> None:
    floor, ceiling = axes.get_ylim()
    inside = 0.05 * (ceiling - floor)
    shown = min(max(pluck.value, floor + inside), ceiling - inside)
    is_beyond = not floor <= pluck.value <= ceiling
    shown = shown if is_beyond else pluck.value
    is_above = is_beyond and pluck.value > ceiling
    axes.plot(
        [place],
        [shown],
        marker=("^" if is_above else "v") if is_beyond else "o",
        markersize=5.0 if is_beyond else 3.8,
        markerfacecolor=PLUCK_COLOUR if pluck.is_in_mean else "white",
        markeredgecolor=PLUCK_COLOUR,
        markeredgewidth=0.9,
        linestyle="none",
        clip_on=False,
        zorder=4,
    )
    if is_beyond:
        write(
            axes,
            (place, shown),
            f"{pluck.value:.4g} {unit}",
            _SMALL_SIZE,
            (0.0, -5.0 if is_above else 5.0),
            ha="center",
            va="top" if is_above else "bottom",
        )


def _number_revolutions(axes: Axes, each: LadderPass, places: Sequence[float]) -> None:
    if len(each.revolutions) < 2:
        return
    apart = 0.09 * each.width
    last = -math.inf
    by_place = {
        place: pluck.revolution for place, pluck in sorted(zip(places, each.plucks, strict=True), key=_at)
    }
    for place, revolution in by_place.items():
        if revolution is not None and place - last >= apart:
            last = place
            write(axes, (place, 0.015), f"{revolution:g}", _SMALL_SIZE, across=True, ha="center", va="bottom")


def _at(placed: tuple[float, LadderPluck]) -> float:
    return placed[0]


def _label_pass(axes: Axes, each: LadderPass, middle: float, width_mm: float) -> None:
    room_mm = width_mm - 1.0
    mean = wrapped(each.mean.words if each.mean else "", room_mm, _SMALL_SIZE, 1)
    _write_lines(axes, (middle, 1.0), mean, _SMALL_SIZE, 4.0)
    verdict = wrapped(verdict_words(each.verdict, each.words), room_mm, _SIZE, 2)
    _write_lines(axes, (middle, 1.0), verdict, _SIZE, 12.5 + _LINE_POINTS * (len(verdict) - 1), weight="bold")
    name = wrapped(each.name, room_mm, _SIZE, 2)
    _write_lines(axes, (middle, 0.0), name, _SIZE, -_LINE_POINTS, weight="bold")
    below = [line for text in _below(each) for line in wrapped(text, room_mm, _SMALL_SIZE, 2)]
    _write_lines(axes, (middle, 0.0), below, _SMALL_SIZE, -_LINE_POINTS * (len(name) + 1) - 1.0)


def _write_lines(
    axes: Axes,
    place: tuple[float, float],
    lines: Sequence[str],
    size: float,
    first_points: float,
    **style: Any,
) -> None:
    """Write lines one below the other, the first with its foot so far above a place; feet of columns are level."""
    for number, line in enumerate(lines):
        offset = (0.0, first_points - number * _LINE_POINTS)
        write(axes, place, line, size, offset, across=True, ha="center", va="baseline", **style)


def _below(each: LadderPass) -> list[str]:
    lines = [each.when] if each.when else []
    if len(each.revolutions) > 1:
        lines.append(f"revolutions {each.revolutions[0]:g} to {each.revolutions[-1]:g}")
    if each.n_refused:
        lines.append(f"{each.n_refused} refused")
    return lines


def _handles(ladder: PassLadder) -> Iterator[Line2D | Patch]:
    """What the legend explains: only what is drawn."""
    passes = ladder.passes
    plucks = [pluck for each in passes for pluck in each.plucks]
    if any(pluck.is_in_mean for pluck in plucks):
        yield _dot_handle(PLUCK_COLOUR, "pluck")
    if any(not pluck.is_in_mean for pluck in plucks):
        yield _dot_handle("white", "pluck left out of the mean")
    if any(each.mean for each in passes):
        yield mean_handle("mean ± expanded uncertainty")
    if any(each.band for each in passes):
        yield corridor_handle(ladder.band_name)


def _dot_handle(colour: str, label: str) -> Line2D:
    return Line2D(
        [],
        [],
        marker="o",
        markersize=3.8,
        markerfacecolor=colour,
        markeredgecolor=PLUCK_COLOUR,
        linestyle="none",
        label=label,
    )
