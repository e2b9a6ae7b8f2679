"""How much a fitted ring is like a plucked span's, rather than a voice's, a tool's or a machine's: a logistic score.

Eight measures are weighed and added. The weights are those of a logistic regression on simulated plucks, and on
speech, music, clanks and machines that nobody plucked; ``python -m benchmarks.likeness`` trains anew. No measure
knows the frequency: a belt that is set wrong is as much a belt.
"""

import math
from dataclasses import dataclass
from enum import Enum, auto

from tensionear.pluck import measures
from tensionear.pluck.analysis import Analysis
from tensionear.pluck.fitting import FittedRing


class Measure(Enum):
    """What is weighed."""

    SHARE = auto()
    """Score of the hypothesis over that of a series which explained every peak."""
    SIGNAL_TO_NOISE = auto()
    """[dB]"""
    LEFT_OVER = auto()
    """Logarithm of the share of the ring's energy that neither partials nor room explain. [nat]"""
    UNCERTAINTY = auto()
    """Logarithm of the relative standard uncertainty. [nat]"""
    PEAKS = auto()
    """Peaks in the spectrum."""
    SWELL = auto()
    """Logarithm of the periods in which the sound grows. [nat]"""
    QUALITY = auto()
    """Square of the logarithm of Q over that of rubber. [nat²]"""
    LATELY = auto()
    """Level over the background just before the onset. [dB]"""


@dataclass(frozen=True)
class Weight:
    """How much a measure counts, and what it is in a pluck that is read."""

    a_unit: float
    usual: float


WEIGHTS = {
    Measure.SHARE: Weight(4.235, 0.91),
    Measure.SIGNAL_TO_NOISE: Weight(0.054, 16.44),
    Measure.LEFT_OVER: Weight(-0.773, -3.51),
    Measure.UNCERTAINTY: Weight(-2.031, -5.62),
    Measure.PEAKS: Weight(-0.552, 1.88),
    Measure.SWELL: Weight(-1.070, 0.08),
    Measure.QUALITY: Weight(-1.339, 0.23),
    Measure.LATELY: Weight(-0.161, 0.58),
}
OFFSET = -13.03

LIKE_A_SPAN = 2.0
"""Least score of a reading; see `docs/accuracy.md` for what passes it. [nat]"""

LEAST_UNCERTAINTY, LEAST_LEFT_OVER = 0.002, 0.02
MOST_PEAKS_COUNTED = 8
USUAL_QUALITY = 25.0
SNR_DB, LATELY_DB = (-10.0, 25.0), (0.0, 25.0)
"""Beyond these a measure says no more than at them."""


def measured(analysis: Analysis, fitted: FittedRing) -> dict[Measure, float]:
    """The measures of one ring."""
    score, total = analysis.ranked[0].score, sum(peak.weight for peak in analysis.peaks)
    posterior = fitted.posterior
    uncertainty = posterior.standard_uncertainty_hz / posterior.fundamental_hz
    swell_periods = measures.loudest_after_s(fitted) * posterior.fundamental_hz
    return {
        Measure.SHARE: _within(score / max(total, 1e-3), (0.0, 1.0)),
        Measure.SIGNAL_TO_NOISE: _within(measures.signal_to_noise_db(fitted), SNR_DB),
        Measure.LEFT_OVER: math.log(1 - measures.explained(fitted) + LEAST_LEFT_OVER),
        Measure.UNCERTAINTY: math.log(max(uncertainty, LEAST_UNCERTAINTY)),
        Measure.PEAKS: float(min(len(analysis.peaks), MOST_PEAKS_COUNTED)),
        Measure.SWELL: math.log(1 + max(0.0, swell_periods - measures.LOUDNESS_PERIODS)),
        Measure.QUALITY: math.log(measures.quality(fitted) / USUAL_QUALITY) ** 2,
        Measure.LATELY: _within(measures.lately_db(fitted), LATELY_DB),
    }


def likeness(found: dict[Measure, float]) -> float:
    """Logarithm of the odds that a ring is a plucked span's, as often as either was trained on. [nat]"""
    return OFFSET + sum(weight.a_unit * found[measure] for measure, weight in WEIGHTS.items())


def weakest(found: dict[Measure, float]) -> Measure:
    """The measure that speaks most against a ring, compared with plucks that are read."""
    return min(WEIGHTS, key=lambda m: WEIGHTS[m].a_unit * (found[m] - WEIGHTS[m].usual))


def _within(value: float, limits: tuple[float, float]) -> float:
    return min(limits[1], max(limits[0], value))
