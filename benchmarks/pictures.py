"""Pictures of the benchmarks' results."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from numpy.typing import ArrayLike, NDArray

# Of Okabe and Ito, told apart by colour-blind eyes too, dark to light.
_COLOURS = ("#000000", "#0072b2", "#009e73", "#e69f00", "#d55e00")
_MARKERS = ("o", "s", "^", "D", "v")
_LEAST_ERROR_PERCENT = 1e-3


def draw_bound(
    curves: Mapping[str, Sequence[tuple[float, float, float]]], target: float, title: str, path: Path
) -> None:
    """Draw errors over the bound, and the share that was refused, over the signal-to-noise ratio.

    Parameters
    ----------
    curves : mapping of str to sequence of (float, float, float)
        For each name: ratio [dB], root mean square error over the bound [1] (NaN where all is refused), share
        refused [%].
    target : float
        What is aimed at. [1]
    title : str
        Heading.
    path : Path
        The file; its ending says which kind.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    figure = _figure(8.0, 6.0, title)
    error_axes, refused_axes = figure.subplots(2, 1, sharex=True, height_ratios=(3, 1))
    for (name, points), colour, marker in zip(curves.items(), _COLOURS, _MARKERS, strict=False):
        snr_db, ratio, refused = np.array(sorted(points)).T
        error_axes.plot(snr_db, ratio, color=colour, marker=marker, label=name)
        refused_axes.plot(snr_db, refused, color=colour, marker=marker)
    error_axes.axhline(1.0, color="0.3", linewidth=1.0)
    error_axes.axhline(target, color="0.3", linewidth=1.0, linestyle="--", label=f"target, {target:g}")
    error_axes.set_ylabel("RMSE over Cramér-Rao bound")
    error_axes.legend(frameon=False)
    refused_axes.set_ylabel("refused [%]")
    refused_axes.set_ylim(-4, 104)
    refused_axes.set_xlabel("signal-to-noise ratio at the onset, a sample [dB]")
    for axes in (error_axes, refused_axes):
        axes.grid(color="0.9")
    figure.savefig(path)


def draw_errors(
    scenes: Mapping[str, Mapping[int, Sequence[float]]], gross: float, title: str, path: Path
) -> None:
    """Draw the errors of all readings, a row for each scene, with median and 95th percentile.

    Parameters
    ----------
    scenes : mapping of str to mapping of int to sequence of float
        For each scene and signal-to-noise ratio [dB] the relative errors; NaN where a pluck was refused.
    gross : float
        Relative error that counts as gross. [1]
    title : str
        Heading.
    path : Path
        The file; its ending says which kind.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    figure = _figure(10.0, 1.5 + 0.75 * len(scenes), title)
    axes = figure.subplots()
    spread = np.random.default_rng(1)
    ratios = sorted({snr_db for cells in scenes.values() for snr_db in cells}, reverse=True)
    colours = dict(zip(ratios, _COLOURS, strict=False))
    for row, cells in enumerate(scenes.values()):
        for snr_db, errors in cells.items():
            percent = _shown_percent(errors)
            heights = row + spread.uniform(-0.3, 0.3, len(percent))
            axes.scatter(percent, heights, s=6, color=colours[snr_db], alpha=0.6, linewidths=0)
        every = np.concatenate([np.asarray(errors, dtype=np.float64) for errors in cells.values()])
        percent = _shown_percent(every)
        for share, style in ((50, "-"), (95, ":")):
            if len(percent):
                axes.vlines(
                    np.percentile(percent, share),
                    row - 0.42,
                    row + 0.42,
                    color="k",
                    linestyle=style,
                    linewidth=2,
                )
        axes.text(
            1.01,
            row,
            f"{100 * len(percent) / len(every):.0f} %",
            transform=axes.get_yaxis_transform(),
            va="center",
        )
    axes.text(1.01, -0.75, "answered", transform=axes.get_yaxis_transform(), va="center")
    axes.axvline(100 * gross, color="#b23a00", linewidth=1.0)
    axes.set_xscale("log")
    axes.set_xlim(_LEAST_ERROR_PERCENT * 0.9, 200)
    axes.xaxis.set_major_formatter("{x:g}")
    axes.set_ylim(len(scenes) - 0.5, -1.0)
    axes.set_yticks(range(len(scenes)), list(scenes))
    axes.set_xlabel(
        f"error of the fundamental [%]; line: median, dotted: 95th percentile; red: gross, {100 * gross:g} %"
    )
    axes.grid(axis="x", color="0.9")
    for snr_db in ratios:
        axes.scatter([], [], s=20, color=colours[snr_db], label=f"{snr_db} dB")
    figure.legend(loc="outside lower center", ncols=len(ratios), frameon=False)
    figure.savefig(path)


def _figure(width: float, height: float, title: str) -> Figure:
    figure = Figure(figsize=(width, height), dpi=120.0, layout="constrained")
    FigureCanvasAgg(figure)
    figure.suptitle(title, fontsize=13, fontweight="bold")
    return figure


def _shown_percent(errors: ArrayLike) -> NDArray[np.float64]:
    """Sizes of the errors that are there, in per cent, none smaller than the axis begins."""
    found = np.abs(np.asarray(errors, dtype=np.float64))
    return np.asarray(np.maximum(100 * found[np.isfinite(found)], _LEAST_ERROR_PERCENT))
