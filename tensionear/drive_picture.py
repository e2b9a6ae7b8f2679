"""A picture of a belt drive with the plucked span marked, so that a wrong drive or the wrong span is seen.

The drive as someone sees it who looks at it, to scale. Shape, line and label say all that colour says: the belt is
a plain line, the plucked span a heavy one with its ends marked, pulleys on the belt's back are dashed.
"""

import textwrap
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from tensionear.belt.drive import BeltDrive, DriveSpan, Sense
from tensionear.belt.drive_check import BeltLengthCheck
from tensionear.belt.pulley import Face, Pulley
from tensionear.belt.tangent import Course

_BELT_COLOUR = "#444444"
_PLUCKED_COLOUR = "#00429d"
_PULLEY_COLOUR = "#e9e4da"
_BACK_COLOUR = "#b23a00"
_MILLIMETRES_PER_METRE = 1000.0
_MARGIN = 0.13
_LETTER_POINTS = 5.2
"""Room of a letter of a pulley's name, from trial."""
_ROOM_POINTS = 440.0
"""Room of the axes on the page, either way."""
_WHITE: dict[str, Any] = {"facecolor": "white", "edgecolor": "none", "pad": 0.5, "alpha": 0.6}


def draw_drive(
    drive: BeltDrive,
    plucked: DriveSpan | None,
    path: Path,
    title: str = "",
    check: BeltLengthCheck | None = None,
) -> None:
    """Draw a drive into a file.

    Parameters
    ----------
    drive : BeltDrive
        The drive.
    plucked : DriveSpan or None
        The span to mark (`BeltDrive.span_between`); None marks none.
    path : Path
        The file; its ending says which kind (.png, .pdf, .svg).
    title : str, optional
        What comes first in the heading, such as the engine.
    check : BeltLengthCheck or None
        What the belt's length says of the drive; written below.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    figure = Figure(figsize=(8.0, 8.0), dpi=120.0, layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.subplots()
    figure.suptitle(_heading(plucked, title), fontsize=13, fontweight="bold")
    points_per_mm = _frame(axes, drive)
    for i, pulley in enumerate(drive.pulleys):
        # The belt pulls a pulley away from where it lies on it: outwards if it is on the back, else inwards.
        pull = drive.spans[i].direction - drive.spans[i - 1].direction
        outwards = (pull if pulley.face is Face.BACK else -pull) / max(float(np.hypot(*pull)), 1e-9)
        _draw_pulley(axes, pulley, drive.wrap_angles_rad[i], outwards, points_per_mm)
    _draw_belt(axes, drive, plucked)
    _draw_lengths(axes, drive, plucked)
    if plucked is not None:
        _mark_plucked(axes, plucked)
    _draw_legend(axes, drive, plucked)
    if check is not None:
        figure.supxlabel(textwrap.fill(_sentence(check.explanation), 95), fontsize=9)
    figure.savefig(path)


def _heading(plucked: DriveSpan | None, title: str) -> str:
    span = "" if plucked is None else f"{plucked.leaves}–{plucked.meets} is plucked"
    return ": ".join(part for part in (title, span) if part)


def _sentence(text: str) -> str:
    closed = text if text.endswith("?") else f"{text}."
    return closed[0].upper() + closed[1:]


def _draw_pulley(
    axes: Axes, pulley: Pulley, wrap_rad: float, outwards: np.ndarray, points_per_mm: float
) -> None:
    on_back = pulley.face is Face.BACK
    centre_mm = _MILLIMETRES_PER_METRE * pulley.centre_m
    radius_mm = _MILLIMETRES_PER_METRE * pulley.surface_radius_m
    axes.add_patch(
        Circle(
            (float(centre_mm[0]), float(centre_mm[1])),
            radius_mm,
            facecolor=_PULLEY_COLOUR,
            edgecolor=_BACK_COLOUR if on_back else _BELT_COLOUR,
            linestyle="--" if on_back else "-",
            linewidth=1.4,
        )
    )
    _name_pulley(
        axes,
        pulley,
        f"{textwrap.fill(pulley.name, 14)}\n{np.degrees(wrap_rad):.0f}°",
        outwards,
        points_per_mm,
    )


def _name_pulley(axes: Axes, pulley: Pulley, name: str, outwards: np.ndarray, points_per_mm: float) -> None:
    """Write a name into its pulley, or outside the loop beside it if it has no room inside."""
    radius_points = points_per_mm * _MILLIMETRES_PER_METRE * pulley.surface_radius_m
    n_letters = max(len(line) for line in name.splitlines())
    inside = 0.5 * _LETTER_POINTS * n_letters < 0.85 * radius_points
    shift = np.zeros(2) if inside else (radius_points + 7.0) * outwards
    axes.annotate(
        name,
        xy=tuple(_MILLIMETRES_PER_METRE * pulley.centre_m),
        xytext=tuple(shift),
        textcoords="offset points",
        ha="center" if inside else _beside(outwards[0], "left", "right"),
        va="center" if inside else _beside(outwards[1], "bottom", "top"),
        fontsize=9,
        zorder=6,
    )


def _beside(component: float, positive: Any, negative: Any) -> Any:
    """Alignment of a text that is shifted by a direction with this component."""
    if abs(component) <= 0.5:
        return "center"
    return positive if component > 0 else negative


def _draw_belt(axes: Axes, drive: BeltDrive, plucked: DriveSpan | None) -> None:
    line_mm = _MILLIMETRES_PER_METRE * _pitch_line(drive)
    axes.plot(line_mm[:, 0], line_mm[:, 1], color=_BELT_COLOUR, linewidth=2.2, zorder=3)
    # An arrow on the longest other span says in which order the pulleys were listed.
    others = [span for span in drive.spans if span is not plucked]
    longest = max(others, key=lambda span: span.span_length.value)
    tail = np.add(longest.start_m, 0.16 * longest.span_length.value * longest.direction)
    head = np.add(longest.start_m, 0.26 * longest.span_length.value * longest.direction)
    axes.annotate(
        "",
        xy=tuple(_MILLIMETRES_PER_METRE * head),
        xytext=tuple(_MILLIMETRES_PER_METRE * tail),
        arrowprops={"arrowstyle": "-|>", "color": _BELT_COLOUR, "linewidth": 2.2, "mutation_scale": 20},
        zorder=5,
    )


def _pitch_line(drive: BeltDrive) -> np.ndarray:
    """Points of the closed pitch line, shape (n, 2). [m]."""
    points = []
    for i, pulley in enumerate(drive.pulleys):
        arriving = np.subtract(drive.spans[i - 1].end_m, pulley.centre_m)
        start_rad = float(np.arctan2(arriving[1], arriving[0]))
        angles = start_rad + drive.turn(pulley) * np.linspace(0.0, drive.wrap_angles_rad[i], 90)
        points.append(
            pulley.centre_m + pulley.pitch_radius_m * np.column_stack([np.cos(angles), np.sin(angles)])
        )
    points.append(points[0][:1])
    return np.concatenate(points)


def _draw_lengths(axes: Axes, drive: BeltDrive, plucked: DriveSpan | None) -> None:
    """Write each span's length at its middle: outside the loop, but inside where a pulley on the back is near."""
    to_the_outside = 1.0 if drive.sense is Sense.CLOCKWISE else -1.0
    for span in drive.spans:
        middle = np.add(span.start_m, span.end_m) / 2.0
        left = np.array([-span.direction[1], span.direction[0]])
        outwards = left * (to_the_outside if span.course is Course.SAME_SIDE else -to_the_outside)
        bold = span is plucked
        axes.annotate(
            f"{_MILLIMETRES_PER_METRE * span.span_length.value:.1f} mm",
            xy=tuple(_MILLIMETRES_PER_METRE * middle),
            xytext=tuple(14.0 * outwards),
            textcoords="offset points",
            ha=_beside(outwards[0], "left", "right"),
            va=_beside(outwards[1], "bottom", "top"),
            fontsize=12 if bold else 9,
            fontweight="bold" if bold else "normal",
            color=_PLUCKED_COLOUR if bold else "black",
            bbox=_WHITE,
            zorder=7,
        )


def _mark_plucked(axes: Axes, plucked: DriveSpan) -> None:
    ends_mm = _MILLIMETRES_PER_METRE * np.array([plucked.start_m, plucked.end_m])
    axes.plot(
        ends_mm[:, 0],
        ends_mm[:, 1],
        color=_PLUCKED_COLOUR,
        linewidth=6.0,
        marker="o",
        markersize=11,
        markerfacecolor="white",
        markeredgewidth=2.5,
        solid_capstyle="butt",
        zorder=4,
    )


def _draw_legend(axes: Axes, drive: BeltDrive, plucked: DriveSpan | None) -> None:
    axes.plot(
        [],
        [],
        color=_BELT_COLOUR,
        linewidth=2.2,
        label="belt, middle of its cords; arrow: order of the pulleys",
    )
    if plucked is not None:
        axes.plot(
            [],
            [],
            color=_PLUCKED_COLOUR,
            linewidth=6.0,
            marker="o",
            markersize=9,
            markerfacecolor="white",
            label="plucked span, from contact to contact",
        )
    ring: dict[str, Any] = {
        "linestyle": "none",
        "marker": "o",
        "markersize": 12,
        "markerfacecolor": _PULLEY_COLOUR,
    }
    axes.plot([], [], markeredgecolor=_BELT_COLOUR, label="pulley on the toothed face, wrap angle", **ring)
    if any(pulley.face is Face.BACK for pulley in drive.pulleys):
        axes.scatter(
            [],
            [],
            s=140,
            facecolor=_PULLEY_COLOUR,
            edgecolor=_BACK_COLOUR,
            linestyle="--",
            label="pulley on the back",
        )
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.07), ncols=2, frameon=False, fontsize=9)


def _frame(axes: Axes, drive: BeltDrive) -> float:
    """Set the limits to scale; return how many points of the page a millimetre of the drive takes."""
    line_mm = _MILLIMETRES_PER_METRE * _pitch_line(drive)
    lowest, highest = line_mm.min(axis=0), line_mm.max(axis=0)
    margin_mm = _MARGIN * float(np.max(highest - lowest))
    axes.set_xlim(lowest[0] - margin_mm, highest[0] + margin_mm)
    axes.set_ylim(lowest[1] - margin_mm, highest[1] + margin_mm)
    axes.set_aspect("equal")
    axes.set_xlabel("x [mm]")
    axes.set_ylabel("y [mm]")
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    shown_mm = highest - lowest + 2.0 * margin_mm
    return min(_ROOM_POINTS / float(shown_mm[0]), _ROOM_POINTS / float(shown_mm[1]))
