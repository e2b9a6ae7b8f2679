"""A picture of a pluck, so that a doubter can see why it was read as it was, or why not.

Above the sound with the fitted ring-down, below the spectrum of the ring over that of the time before, with
the chosen fundamental, its partials and the rivals that it beat. Shape and label say all that colour says.
"""

import textwrap
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from tensionear.pluck.evidence import PluckEvidence, evidence_of
from tensionear.pluck.listener import HeardPluck
from tensionear.pluck.outcome import PluckOutcome, PluckReading, PluckRefusal

N_RIVALS_SHOWN = 4
_SHOWN_BEFORE = 0.3
"""Time shown before the onset, as a share of the time shown after it."""
_SHOWN_BELOW_PEAK_DB = 75.0
_SHOWN_OF_A_READING_HZ = 600.0
_SHOWN_OF_A_REFUSAL_HZ = 1200.0  # knocks and tools sound above what a span does
_SOUND_COLOUR = "#8a8a8a"
_FIT_COLOUR = "#00429d"
_RIVAL_COLOUR = "#b23a00"
_BESIDE: dict[str, Any] = {"loc": "center left", "bbox_to_anchor": (1.01, 0.5), "frameon": False}


def draw_pluck(heard: HeardPluck, path: Path, title: str = "") -> None:
    """Draw one pluck into a file.

    Parameters
    ----------
    heard : HeardPluck
        The pluck's sound and what became of it.
    path : Path
        The file; its ending says which kind (.png, .pdf, .svg).
    title : str, optional
        What comes first in the heading, such as the source and the pluck's number.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    evidence = evidence_of(heard.clip, heard.outcome)
    figure = Figure(figsize=(10.0, 7.0), dpi=120.0, layout="constrained")
    FigureCanvasAgg(figure)
    sound_axes, spectrum_axes = figure.subplots(2, 1, height_ratios=(2, 3))
    figure.suptitle(_heading(heard.outcome, title), fontsize=13, fontweight="bold")
    if isinstance(heard.outcome, PluckRefusal):
        sound_axes.set_title(textwrap.fill(heard.outcome.explanation, 100), fontsize=10)
    _draw_sound(sound_axes, evidence)
    _draw_spectrum(spectrum_axes, evidence, heard.outcome)
    figure.savefig(path)


def _heading(outcome: PluckOutcome, title: str) -> str:
    start = f"{title + ', ' if title else ''}at {outcome.at_s:.2f} s"
    if isinstance(outcome, PluckReading):
        return f"{start}: fundamental {outcome.fundamental_hz:.2f} Hz"
    return f"{start}: refused, {outcome.reason}"


def _draw_sound(axes: Axes, evidence: PluckEvidence) -> None:
    axes.plot(evidence.time_s, evidence.sound, color=_SOUND_COLOUR, linewidth=1.6, label="sound, filtered")
    if len(evidence.fit):
        axes.plot(
            evidence.fit_time_s,
            evidence.fit,
            color=_FIT_COLOUR,
            linewidth=0.6,
            label="fitted ring-down",
        )
    axes.axvline(0.0, color="black", linewidth=1.0, linestyle=":", label="onset")
    end_s = float(evidence.time_s[-1])
    axes.set_xlim(max(float(evidence.time_s[0]), -_SHOWN_BEFORE * end_s), end_s)
    axes.set_xlabel("time after the onset [s]")
    axes.set_ylabel("sound [full scale 1]")
    axes.legend(**_BESIDE)


def _draw_spectrum(axes: Axes, evidence: PluckEvidence, outcome: PluckOutcome) -> None:
    highest_hz = _highest_shown_hz(evidence, outcome)
    shown = evidence.frequency_hz <= highest_hz
    frequency_hz = evidence.frequency_hz[shown]
    axes.plot(
        frequency_hz,
        evidence.background_db[shown],
        color=_SOUND_COLOUR,
        linestyle="--",
        label="before the pluck",
    )
    axes.plot(frequency_hz, evidence.ring_db[shown], color="black", linewidth=1.3, label="ring")
    peak_db = float(np.max(evidence.ring_db[shown]))
    floor_db = float(np.percentile(evidence.ring_db[shown], 5))
    axes.set_ylim(max(peak_db - _SHOWN_BELOW_PEAK_DB, floor_db - 15.0), peak_db + 5.0)
    axes.set_xlim(0.0, highest_hz)
    axes.set_xlabel("frequency [Hz]")
    axes.set_ylabel("level [dB]")
    if isinstance(outcome, PluckReading):
        _mark_partials(axes, outcome, highest_hz)
    _mark_rivals(axes, outcome, highest_hz)
    axes.legend(**_BESIDE)


def _highest_shown_hz(evidence: PluckEvidence, outcome: PluckOutcome) -> float:
    at_least_hz = _SHOWN_OF_A_REFUSAL_HZ
    marked_hz = [rival.fundamental_hz for rival in outcome.rivals[:N_RIVALS_SHOWN]]
    if isinstance(outcome, PluckReading):
        at_least_hz = _SHOWN_OF_A_READING_HZ
        marked_hz += [partial.frequency_hz for partial in outcome.partials]
    return min(float(evidence.frequency_hz[-1]), max(at_least_hz, 1.15 * max(marked_hz, default=0.0)))


def _mark_partials(axes: Axes, outcome: PluckReading, highest_hz: float) -> None:
    """Write the partials' numbers in a row above the spectrum."""
    above = axes.get_xaxis_transform()
    for partial in outcome.partials:
        if partial.frequency_hz > highest_hz:
            break
        chosen = partial.number == 1
        axes.axvline(
            partial.frequency_hz,
            color=_FIT_COLOUR,
            linewidth=1.8 if chosen else 0.9,
            alpha=1.0 if chosen else 0.6,
        )
        axes.text(
            partial.frequency_hz,
            1.015,
            f"{partial.number}",
            transform=above,
            color=_FIT_COLOUR,
            fontweight="bold",
            ha="center",
            va="bottom",
        )
    axes.plot(
        [], [], color=_FIT_COLOUR, linewidth=1.8, label=f"1: fundamental {outcome.fundamental_hz:.2f} Hz"
    )
    n_more = sum(partial.number != 1 for partial in outcome.partials)
    if n_more:
        axes.plot([], [], color=_FIT_COLOUR, linewidth=0.9, label="2, 3...: its partials")


def _mark_rivals(axes: Axes, outcome: PluckOutcome, highest_hz: float) -> None:
    """Write the rivals' letters at the foot of the spectrum, those close together one above the other."""
    placed: list[tuple[float, int]] = []
    for letter, rival in zip("abcd", outcome.rivals[:N_RIVALS_SHOWN], strict=False):
        taken = {row for hz, row in placed if abs(hz - rival.fundamental_hz) < 0.05 * highest_hz}
        row = min(set(range(N_RIVALS_SHOWN)) - taken)
        placed.append((rival.fundamental_hz, row))
        axes.plot(
            [rival.fundamental_hz],
            [0.06 + 0.08 * row],
            transform=axes.get_xaxis_transform(),
            color="white",
            marker="D",
            markersize=14,
            markeredgecolor=_RIVAL_COLOUR,
            linestyle="none",
            clip_on=False,
            zorder=4,
        )
        axes.text(
            rival.fundamental_hz,
            0.06 + 0.08 * row,
            letter,
            transform=axes.get_xaxis_transform(),
            color=_RIVAL_COLOUR,
            fontweight="bold",
            ha="center",
            va="center",
            zorder=5,
        )
        axes.plot(
            [],
            [],
            color="white",
            marker="D",
            markeredgecolor=_RIVAL_COLOUR,
            linestyle="none",
            label=f"{letter}: rival {rival.fundamental_hz:.1f} Hz, support {rival.support:.2f}",
        )
    if isinstance(outcome, PluckReading):
        axes.plot([], [], linestyle="none", label=f"support of the reading {outcome.support:.2f}")
