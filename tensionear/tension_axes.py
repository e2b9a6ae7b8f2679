"""What pictures of passes have in common: the tolerance band as a corridor, a mean with its bar, words, the file.

Values are in whichever unit the caller names: newtons, or hertz where nothing is known of the span. Lengths on the
page are in millimetres, letters in points. Shape and word say all that colour says.
"""

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle

from tensionear.metrology.decision import Verdict
from tensionear.typeface import TYPEFACE, as_shown

POINTS_PER_MM = 72.0 / 25.4
MM_PER_INCH = 25.4
MEAN_COLOUR = "#00429d"
PLUCK_COLOUR = "#333333"
LINE_COLOUR = "#6b6b6b"
CORRIDOR_COLOUR = "#e4e4e4"
VERDICT_SIGNS = {Verdict.IN_BAND: "✓", Verdict.OUT_OF_BAND: "✗", Verdict.UNDECIDED: "?"}
_LETTER_WIDTH = 0.62
"""Width of a letter over the size of the type, on the wide side, from trial."""


@dataclass(frozen=True)
class Band:
    """The tolerance band.

    Attributes
    ----------
    lower, upper : float
        Both permitted; infinite if there is no such limit, equal if there is an aim only. [the picture's unit]
    """

    lower: float
    upper: float

    @property
    def limits(self) -> tuple[float, ...]:
        """The limits that there are, the lower first. [the picture's unit]."""
        return tuple(dict.fromkeys(limit for limit in (self.lower, self.upper) if math.isfinite(limit)))


@dataclass(frozen=True)
class Mean:
    """The mean of a pass.

    Attributes
    ----------
    value, expanded_uncertainty : float
        [the picture's unit]
    words : str
        As it is to be written, such as "402.4 ± 5.1 N"; empty for not at all.
    """

    value: float
    expanded_uncertainty: float
    words: str = ""

    @property
    def ends(self) -> tuple[float, float]:
        """Ends of the bar. [the picture's unit]."""
        return self.value - self.expanded_uncertainty, self.value + self.expanded_uncertainty


def new_figure(width_mm: float, height_mm: float) -> Figure:
    """An empty figure of a size on the page."""
    figure = Figure(figsize=(width_mm / MM_PER_INCH, height_mm / MM_PER_INCH), dpi=150.0)
    FigureCanvasAgg(figure)
    return figure


def png_of(figure: Figure, dpi: float) -> bytes:
    """The figure as PNG, the same bytes for the same figure. `dpi` is in dots per inch."""
    file = BytesIO()
    # The library's name and version would make the file another one with every release.
    figure.savefig(file, format="png", dpi=dpi, metadata={"Software": None})
    return file.getvalue()


def verdict_words(verdict: Verdict | None, words: str) -> str:
    """The verdict's sign and word; `words` stand in the word's place if there are any."""
    if verdict is None:
        return words
    return f"{VERDICT_SIGNS[verdict]} {words or verdict}"


def wrapped(text: str, width_mm: float, size: float, n_lines: int) -> list[str]:
    """Lines of a text that fit, cut with … after the last one.

    Parameters
    ----------
    text : str
        Any.
    width_mm : float
        Room for a line. [mm]
    size : float
        Of the type. [points]
    n_lines : int
        How many lines there may be.
    """
    n_letters = max(4, int(width_mm * POINTS_PER_MM / (_LETTER_WIDTH * size)))
    lines = [part for line in as_shown(text).splitlines() for part in textwrap.wrap(line, n_letters)]
    if len(lines) > n_lines:
        return [*lines[: n_lines - 1], lines[n_lines - 1][: n_letters - 1] + "…"]
    return lines


def write(
    axes: Axes,
    place: tuple[float, float],
    text: str,
    size: float,
    offset_points: tuple[float, float] = (0.0, 0.0),
    across: bool = False,
    **style: Any,
) -> None:
    """Write a text as it stands, in the typeface of every picture.

    Parameters
    ----------
    axes : Axes
        Where.
    place : tuple of float
        Across and up, both in values; with `across` the height is a share of the axes' height.
    text : str
        What.
    size : float
        Of the type. [points]
    offset_points : tuple of float
        How far to move it from the place. [points]
    across : bool
        See `place`.
    **style
        As in `Axes.annotate`.
    """
    axes.annotate(
        as_shown(text),
        place,
        xycoords=axes.get_xaxis_transform() if across else "data",
        xytext=offset_points,
        textcoords="offset points",
        fontsize=size,
        family=TYPEFACE,
        parse_math=False,
        annotation_clip=False,
        **style,
    )


def draw_corridor(axes: Axes, band: Band, start: float, end: float, unit: str, size: float) -> None:
    """Draw the band across the columns or dates from `start` to `end`, with its limits written at its start."""
    floor, ceiling = axes.get_ylim()
    lower, upper = max(band.lower, floor), min(band.upper, ceiling)
    if band.lower < band.upper:
        axes.add_patch(
            Rectangle((start, lower), end - start, upper - lower, facecolor=CORRIDOR_COLOUR, zorder=0.5)
        )
    for limit in band.limits:
        is_upper = limit == band.upper
        aim = band.lower == band.upper
        axes.plot(
            [start, end],
            [limit, limit],
            color=LINE_COLOUR,
            linewidth=0.9,
            linestyle="--" if aim else "-",
            zorder=1,
        )
        write(
            axes,
            (start, limit),
            f"{limit:.5g} {unit}",
            size,
            (2.0, 1.5 if is_upper else -1.5),
            ha="left",
            va="bottom" if is_upper else "top",
            color=LINE_COLOUR,
            zorder=1.5,
        )


def draw_mean(axes: Axes, x: float, mean: Mean, marker: str = "_", size: float = 11.0) -> None:
    """Draw a mean as a mark with its expanded uncertainty as a bar; `size` is in points."""
    axes.errorbar(
        [x],
        [mean.value],
        yerr=[mean.expanded_uncertainty],
        color=MEAN_COLOUR,
        marker=marker,
        markersize=size,
        markerfacecolor="none",
        markeredgewidth=1.2,
        elinewidth=1.3,
        capsize=2.5,
        capthick=1.0,
        linestyle="none",
        zorder=3,
    )


def frame_values(axes: Axes, values: Sequence[float], quantity: str, unit: str, size: float) -> None:
    """Let the height reach over some values, and label it.

    Parameters
    ----------
    axes : Axes
        What is framed.
    values : sequence of float
        What must be seen. [`unit`]
    quantity, unit : str
        What the height is.
    size : float
        Of the type. [points]
    """
    lowest, highest = min(values, default=0.0), max(values, default=1.0)
    margin = 0.16 * (highest - lowest) or 0.1 * abs(highest) or 1.0
    axes.set_ylim(lowest - margin, highest + margin)
    axes.set_ylabel(as_shown(f"{quantity} [{unit}]"), fontsize=size, family=TYPEFACE, parse_math=False)
    axes.tick_params(labelsize=size, labelfontfamily=TYPEFACE, width=0.6, length=2.5)
    for spine in axes.spines.values():
        spine.set_linewidth(0.6)
        spine.set_color(LINE_COLOUR)


def mean_handle(label: str) -> Line2D:
    """How a mean is shown in the legend."""
    return Line2D([], [], color=MEAN_COLOUR, marker="|", markersize=9, mew=1.8, linestyle="none", label=label)


def corridor_handle(label: str) -> Patch:
    """How the band is shown in the legend."""
    return Patch(facecolor=CORRIDOR_COLOUR, edgecolor=LINE_COLOUR, linewidth=0.9, label=label)


def explain(figure: Figure, handles: Sequence[Line2D | Patch], size: float) -> None:
    """Write the legend in a line at the foot of the figure; `size` is in points."""
    figure.legend(
        handles=list(handles),
        loc="lower center",
        ncols=max(1, len(handles)),
        frameon=False,
        prop={"family": TYPEFACE, "size": size},
        handletextpad=0.5,
        columnspacing=1.8,
        borderpad=0.1,
    )
