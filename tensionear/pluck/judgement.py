"""Whether an analysis is a reading: one ground for refusal after the other, each a function of its own.

A ground gives the explanation, in a sentence with what to do, or nothing. The first that holds decides; where none
does, the ring must still be like a span's in all (`likeness`), and its weakest point speaks. The limits were set on
simulated plucks, on recorded strings, and on speech, tools and hum (`docs/accuracy.md`).
"""

from collections.abc import Callable

import numpy as np

from tensionear.pluck import likeness, measures
from tensionear.pluck.analysis import Analysis
from tensionear.pluck.conditioning import clipped_samples
from tensionear.pluck.fitting import FittedRing
from tensionear.pluck.hypotheses import (
    HIGHEST_FUNDAMENTAL_HZ,
    LOWEST_FUNDAMENTAL_HZ,
    MOST_PARTIALS,
    WITHIN,
    Hypothesis,
    Peak,
    partial_ratio,
)
from tensionear.pluck.outcome import PluckClip, RefusalReason

CLIPPED_FOR_S = 0.01
"""The knock of a pluck may clip; a ring that still clips after this time is no sum of partials. [s]"""

FEWEST_PERIODS = 4.0
SHORTEST_RING_S = 0.03

LEAST_QUALITY = 4.0
MOST_QUALITY_OF_RUBBER = 80.0
"""π·f·τ of a rubber belt is 10 to 50, in noise it seems up to 80; a knock on a cover makes less, metal hundreds. More
is believed only of a series of partials out of silence. [1]"""

LEAST_FALL_DB = 2.0
"""A ring falls at least by this from the first to the last fifth of what was heard; a held note does not. [dB]"""

SILENCE_DB = 50.0
QUIET_DB, QUIET_RISE_DB = 30.0, 35.0
LEAST_EXPLAINED_OF_SERIES = 0.8
"""A series of partials that comes out of silence, or suddenly out of quiet, and explains nearly all that is heard, is
a string's, whatever it is made of: nobody talks and nothing runs in silence. [dB], [1]"""

LEAST_RISE_DB = -1.0
"""A pluck adds sound; where less is heard after than before, something was switched off. [dB]"""

STILL_RINGING_DB = 6.0
"""A sound this much over the background just before the pluck is an earlier ring; the pluck must stand this much over
that in turn. [dB]"""

LARGEST_UNCERTAINTY = 0.016
"""Relative standard uncertainty above which a reading is not worth having."""

LOUD_DB = 20.0
"""Above this signal-to-noise ratio it is not the noise that leaves a pitch unclear. [dB]"""

LEAST_LEAD = 1.0
LEAST_LEAD_OF_SERIES = 2.0
"""Score by which the best hypothesis must lead the next; more over one that shares partials, an octave away for
instance: a wrong choice there costs most. [nat]"""

MOST_DRIFT, MOST_DRIFT_OF_WIDTH = 0.01, 0.5
"""How far the fit may leave the spectrum's fundamental, relatively, and by how much of its half bandwidth more; the
glide comes on top. A second string draws it away further."""

NEAR_TONE, MOST_DRIFT_BY_TONE = 0.05, 0.03
"""So near to a steady tone, what may be left of it pushes the spectrum's peak aside by so much; the fit knows it."""

LOUDEST_STRANGER = 0.25
"""Level of the loudest peak that is no partial over that of the loudest partial: a neighbouring span may be the
louder one, so neither is believed."""

FAINT_BETWEEN = 0.02
"""Level of a peak between the partials, over that of the loudest, up to which a long series need not mind it."""

LEAST_SCORE_ALONE = 2.0
DEAF_BELOW = 1e-4
"""Power of the background at a half or a third of the reading over that at the reading itself: with less, the
microphone is deaf there, and the fundamental may have gone unheard."""

FEWEST_WITHOUT_FIRST = 3
"""Partials that must be heard where the fundamental is not: any two tones near 2 to 3 would do for fewer."""

LONG_SERIES = 3
LONG_SERIES_SCORE = 9.0
LIMP_STRETCH = 0.005

CUT_OFF = "The ring was cut off: let the belt ring out; nothing may touch it after the pluck."
DAMP = "damp the neighbouring spans with a hand, keep the microphone close to this one, and pluck again"


def refusal(clip: PluckClip, analysis: Analysis) -> tuple[RefusalReason, str] | None:
    """Why an analysis is no reading; None if it is one."""
    if _is_clipped(clip):
        return (
            RefusalReason.CLIPPED,
            "The microphone was overdriven: pluck more gently, move it away, or turn its level down.",
        )
    if len(clip.samples) - clip.onset < SHORTEST_RING_S * clip.sample_rate_hz:
        return RefusalReason.TOO_SHORT, CUT_OFF
    if analysis.fitted is None:
        return (
            RefusalReason.TOO_WEAK,
            "Nothing that rings stands out of the background: pluck harder, or bring the microphone closer.",
        )
    for reason, ground in _GROUNDS:
        explanation = ground(analysis, analysis.fitted)
        if explanation:
            return reason, explanation
    return _unlike_a_span(analysis, analysis.fitted)


def is_long_series(hypothesis: Hypothesis) -> bool:
    """Whether so many partials are heard, where a limp string has them, that chance cannot have put them there."""
    return (
        len(hypothesis.partials) >= LONG_SERIES
        and hypothesis.stretch < LIMP_STRETCH
        and hypothesis.score > LONG_SERIES_SCORE
    )


def _is_clipped(clip: PluckClip) -> bool:
    clipped = clipped_samples(clip.samples[clip.onset :])
    return len(clipped) > 0 and bool(clipped[-1] > CLIPPED_FOR_S * clip.sample_rate_hz)


def _out_of_range(_: Analysis, fitted: FittedRing) -> str:
    fundamental_hz = fitted.fit.fundamental_hz
    if LOWEST_FUNDAMENTAL_HZ <= fundamental_hz <= HIGHEST_FUNDAMENTAL_HZ:
        return ""
    return (
        f"It rings at {fundamental_hz:.1f} Hz, outside {LOWEST_FUNDAMENTAL_HZ:.0f} to"
        f" {HIGHEST_FUNDAMENTAL_HZ:.0f} Hz: no belt span that this tool can read."
    )


def _cut_short(_: Analysis, fitted: FittedRing) -> str:
    heard_s = len(fitted.ring.whitened) / fitted.ring.sample_rate_hz
    if heard_s >= max(SHORTEST_RING_S, FEWEST_PERIODS / fitted.fit.fundamental_hz):
        return ""
    return CUT_OFF


def _does_not_ring_down(_: Analysis, fitted: FittedRing) -> str:
    if measures.quality(fitted) >= LEAST_QUALITY and measures.fall_db(fitted) >= LEAST_FALL_DB:
        return ""
    return "It does not ring down like a span: a knock, a voice or a machine. Pluck the middle of the span."


def _something_stopped(analysis: Analysis, _: FittedRing) -> str:
    if analysis.rise_db >= LEAST_RISE_DB:
        return ""
    return "A sound that was there before stopped: nothing was plucked, or it was louder than the belt."


def _still_ringing(_: Analysis, fitted: FittedRing) -> str:
    lately_db = measures.lately_db(fitted)
    if lately_db < STILL_RINGING_DB or measures.signal_to_noise_db(fitted) - lately_db > STILL_RINGING_DB:
        return ""
    return "Something was still ringing when it began: wait until the belt is silent, then pluck once."


def _rings_too_long(analysis: Analysis, fitted: FittedRing) -> str:
    if measures.quality(fitted) <= MOST_QUALITY_OF_RUBBER or _is_out_of_silence(analysis, fitted):
        return ""
    return "It rings longer than rubber does: metal, a voice or a machine. Pluck again."


def _unlike_a_span(analysis: Analysis, fitted: FittedRing) -> tuple[RefusalReason, str] | None:
    found = likeness.measured(analysis, fitted)
    if likeness.likeness(found) >= likeness.LIKE_A_SPAN:
        return None
    if is_long_series(analysis.ranked[0]) and _is_out_of_silence(analysis, fitted):
        return None
    reason, explanation = _WEAKNESSES[likeness.weakest(found)]
    if reason is RefusalReason.TOO_WEAK and _is_loud(fitted):
        return RefusalReason.RIVALS, BLURRED
    return reason, explanation


def _is_out_of_silence(analysis: Analysis, fitted: FittedRing) -> bool:
    """Whether a series of partials begins where nothing else sounds, and explains nearly everything."""
    snr_db = measures.signal_to_noise_db(fitted)
    is_quiet = snr_db > SILENCE_DB or (snr_db > QUIET_DB and analysis.rise_db > QUIET_RISE_DB)
    is_series = len(analysis.ranked[0].partials) > 1
    return is_quiet and is_series and measures.explained(fitted) > LEAST_EXPLAINED_OF_SERIES


def _is_vague(fitted: FittedRing) -> bool:
    return fitted.posterior.standard_uncertainty_hz > LARGEST_UNCERTAINTY * fitted.fit.fundamental_hz


def _uncertain(_: Analysis, fitted: FittedRing) -> str:
    return TOO_WEAK if _is_vague(fitted) and not _is_loud(fitted) else ""


def _blurred(_: Analysis, fitted: FittedRing) -> str:
    return BLURRED if _is_vague(fitted) and _is_loud(fitted) else ""


def _is_loud(fitted: FittedRing) -> bool:
    return measures.signal_to_noise_db(fitted) > LOUD_DB


def _rival_explains_as_well(analysis: Analysis, _: FittedRing) -> str:
    best = analysis.ranked[0]
    for other in analysis.ranked[1:]:
        shares = _shares_partials(other.fundamental_hz / best.fundamental_hz)
        if best.score - other.score < (LEAST_LEAD_OF_SERIES if shares else LEAST_LEAD):
            return (
                f"{best.fundamental_hz:.1f} Hz and {other.fundamental_hz:.1f} Hz explain the sound equally well:"
                f" {DAMP}."
            )
    return ""


def _fit_drifts(analysis: Analysis, fitted: FittedRing) -> str:
    peak_hz, fitted_hz = analysis.ranked[0].fundamental_hz, fitted.fit.fundamental_hz
    half_width = fitted.fit.half_bandwidth_hz / fitted_hz
    most = MOST_DRIFT + MOST_DRIFT_OF_WIDTH * half_width + abs(fitted.fit.glide)
    if np.any(np.abs(fitted.ring.tones[0] / fitted_hz - 1) < NEAR_TONE):
        most += MOST_DRIFT_BY_TONE
    if abs(fitted_hz / peak_hz - 1) <= most:
        return ""
    return f"The spectrum shows {peak_hz:.1f} Hz, the ring-down {fitted_hz:.1f} Hz: {DAMP}."


def _strangers_ring(analysis: Analysis, fitted: FittedRing) -> str:
    best = analysis.ranked[0]
    top_hz = (MOST_PARTIALS + 0.5) * fitted.fit.fundamental_hz  # above, a partial may not have been counted
    peaks = [p for p in analysis.peaks if p.frequency_hz < top_hz]
    strangers = [p for p in peaks if not _explains(best, p)]
    most = max(p.level for p in best.partials.values())
    faint = FAINT_BETWEEN * most if is_long_series(best) else 0.0
    for peak in strangers:
        if peak.level > faint and _is_between_partials(peak.frequency_hz / best.fundamental_hz):
            return (
                f"{peak.frequency_hz:.1f} Hz also rings, so that {best.fundamental_hz:.1f} Hz may be a partial and"
                f" the fundamental lower: {DAMP}."
            )
    loudest = max(strangers, key=lambda p: p.level, default=None)
    if loudest is None:
        return ""
    if loudest.level > LOUDEST_STRANGER * most:
        return f"{loudest.frequency_hz:.1f} Hz also rings, and is no partial of {best.fundamental_hz:.1f} Hz: {DAMP}."
    return ""


def _fundamental_is_guessed(analysis: Analysis, _: FittedRing) -> str:
    best = analysis.ranked[0]
    if 1 in best.partials or len(best.partials) >= FEWEST_WITHOUT_FIRST:
        return ""
    heard = " and ".join(f"{p.frequency_hz:.1f} Hz" for _, p in sorted(best.partials.items()))
    return f"Only {heard} ring: they may be partials of one span, or two spans that answer: {DAMP}."


def _only_one_partial(analysis: Analysis, fitted: FittedRing) -> str:
    best = analysis.ranked[0]
    if set(best.partials) != {1}:
        return ""
    if best.score < LEAST_SCORE_ALONE:
        return (
            "Only one faint partial is heard: bring the microphone within 10 cm of the span, or pluck harder."
        )
    fundamental_hz = fitted.fit.fundamental_hz
    heard, *below = (measures.background_power(fitted, fundamental_hz / n) for n in (1, 2, 3))
    if min(below) >= DEAF_BELOW * heard:
        return ""
    return (
        f"Only {fundamental_hz:.1f} Hz is heard, by a microphone that is deaf below: it may be a partial. Use"
        " another microphone, or bring it within 5 cm of the span."
    )


def _shares_partials(ratio: float) -> bool:
    """Whether two fundamentals stand to each other as small whole numbers."""
    ratio = max(ratio, 1 / ratio)
    return any(abs(ratio * d - round(ratio * d)) < 0.05 * d and round(ratio * d) <= 6 for d in (1, 2))


def _is_between_partials(times: float) -> bool:
    """Whether a frequency, in fundamentals, is a fraction that only a lower fundamental explains."""
    fractions = (1 / 4, 1 / 3, 1 / 2, 2 / 3, 4 / 3, 3 / 2, 5 / 3, 7 / 3, 5 / 2, 8 / 3, 7 / 2)
    return any(abs(times / fraction - 1) < WITHIN for fraction in fractions)


def _explains(hypothesis: Hypothesis, peak: Peak) -> bool:
    """Whether a peak is a partial, or, in a long series, stands so close to one that it is the same string's."""
    if peak in hypothesis.partials.values():
        return True
    law_hz = hypothesis.fundamental_hz * partial_ratio(np.arange(1.0, MOST_PARTIALS + 1), hypothesis.stretch)
    return is_long_series(hypothesis) and bool(np.min(np.abs(peak.frequency_hz / law_hz - 1)) < 2 * WITHIN)


_GROUNDS: tuple[tuple[RefusalReason, Callable[[Analysis, FittedRing], str]], ...] = (
    (RefusalReason.OUT_OF_RANGE, _out_of_range),
    (RefusalReason.TOO_SHORT, _cut_short),
    (RefusalReason.NOT_A_STRING, _does_not_ring_down),
    (RefusalReason.SOUND_BEFORE, _something_stopped),
    (RefusalReason.SOUND_BEFORE, _still_ringing),
    (RefusalReason.NOT_A_STRING, _rings_too_long),
    (RefusalReason.TOO_WEAK, _uncertain),
    (RefusalReason.RIVALS, _blurred),
    (RefusalReason.RIVALS, _rival_explains_as_well),
    (RefusalReason.RIVALS, _fit_drifts),
    (RefusalReason.RIVALS, _strangers_ring),
    (RefusalReason.RIVALS, _fundamental_is_guessed),
    (RefusalReason.RIVALS, _only_one_partial),
)

TOO_WEAK = (
    "The ring is too weak in this noise for a reading worth having: bring the microphone within 10 cm of the span, or"
    " pluck harder."
)
BLURRED = f"Something else rings with it, so that its pitch is not clear: {DAMP}."
NOT_A_SPAN = "It does not sound like a plucked span: a voice, a tool, music or a machine. Pluck again."

_WEAKNESSES: dict[likeness.Measure, tuple[RefusalReason, str]] = {
    likeness.Measure.SHARE: (RefusalReason.RIVALS, f"Other things ring as well as this span: {DAMP}."),
    likeness.Measure.PEAKS: (RefusalReason.NOT_A_STRING, NOT_A_SPAN),
    likeness.Measure.SIGNAL_TO_NOISE: (RefusalReason.TOO_WEAK, TOO_WEAK),
    likeness.Measure.UNCERTAINTY: (RefusalReason.TOO_WEAK, TOO_WEAK),
    likeness.Measure.LEFT_OVER: (RefusalReason.NOT_A_STRING, NOT_A_SPAN),
    likeness.Measure.QUALITY: (
        RefusalReason.NOT_A_STRING,
        "It fades faster or slower than a belt does: a knock, a tool or a voice. Pluck the middle of the span.",
    ),
    likeness.Measure.SWELL: (
        RefusalReason.NOT_A_STRING,
        "It swells as a plucked span does not: a voice, music or a machine. Pluck again.",
    ),
    likeness.Measure.LATELY: (
        RefusalReason.SOUND_BEFORE,
        "Something was sounding when it began: wait until it is quiet, then pluck once.",
    ),
}
