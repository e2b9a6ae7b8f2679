"""A pluck's clip in, a reading or a refusal out; nothing but the clip goes in.

`analysis` finds out what the clip tells; here it is judged. It is a reading only if it decays like a string,
explains the sound, and leaves its rivals behind: a refused pluck costs a minute, a wrong one an engine.
"""

import math

import numpy as np

from tensionear.pluck.analysis import Analysis, FittedRing, analyse_clip
from tensionear.pluck.conditioning import clipped_samples
from tensionear.pluck.hypotheses import (
    HIGHEST_FUNDAMENTAL_HZ,
    LOWEST_FUNDAMENTAL_HZ,
    MOST_PARTIALS,
    WITHIN,
    Hypothesis,
    Peak,
    partial_ratio,
)
from tensionear.pluck.outcome import (
    Partial,
    PluckClip,
    PluckOutcome,
    PluckReading,
    PluckRefusal,
    RefusalReason,
    Rival,
)

CLIPPED_FOR_S = 0.01
"""The knock of a pluck may clip; a ring that still clips after this time is no sum of partials any more. [s]"""

FEWEST_PERIODS = 4.0
SHORTEST_RING_S = 0.03
LEAST_QUALITY = 4.0
"""Least π·f·τ: a string makes at least that; a knock on a cover makes less. [1]"""

EARLY_S = 0.1
"""Time for which a partial's energy counts when the strongest is looked for. [s]"""

LEAST_FALL_DB = 2.0
"""A ring falls at least by this from the first to the last fifth of what was heard; a held note does not. [dB]"""

LEAST_SUPPORT = 0.62
LEAST_SUPPORT_ALONE = 0.75
"""Share of the ring's energy that the fit must explain; more where one partial is all that is heard."""

LEAST_SUPPORT_OF_SERIES = 0.25
LEAST_LEAD = 1.0
"""Score by which the best hypothesis must lead the next one that is not part of its own series. [nat]"""

LEAST_LEAD_OF_SERIES = 2.0
"""The same for one that shares partials, an octave away for instance: a wrong choice there costs most. [nat]"""

MOST_DRIFT = 0.025
"""How far the fit may leave the spectrum's fundamental; a second string draws it away further."""

MOST_UNEXPLAINED = 0.4
LOUDEST_STRANGER = 0.12
"""Level of the loudest peak that is no partial over that of the loudest partial: a neighbouring span may be the
louder one, so neither is believed."""

LEAST_SCORE_ALONE = 2.0
DEAF_BELOW = 1e-4
"""Power of the background at a half or a third of the reading over that at the reading itself: with less, the
microphone is deaf there, and the fundamental may have gone unheard."""

LEAST_RAW_RISE_DB = -1.0
"""A pluck adds sound; where less is heard after than before, something was switched off. [dB]"""

LEAST_RISE_DB = 6.0
MOST_QUALITY_OF_RUBBER = 65.0
"""Greatest π·f·τ that is believed without a long series of partials; rubber has 10 to 50, metal hundreds. [1]"""

LONG_SERIES = 3
LONG_SERIES_SCORE = 9.0
LIMP_STRETCH = 0.005

LARGEST_UNCERTAINTY = 0.015
"""Relative standard uncertainty above which a reading is not worth having."""


def read_clip(clip: PluckClip) -> PluckOutcome:
    """Read one pluck, or say why not.

    Parameters
    ----------
    clip : PluckClip
        Sound from about a second before the pluck to the end of its ring.
    """
    return judge(clip, analyse_clip(clip))


def judge(clip: PluckClip, analysis: Analysis) -> PluckOutcome:
    """Decide whether an analysis is a reading."""
    fitted = analysis.fitted
    rivals = rivals_of(analysis)
    snr_db = signal_to_noise_db(fitted) if fitted else None

    def refuse(reason: RefusalReason, explanation: str) -> PluckRefusal:
        return PluckRefusal(clip.at_s, reason, explanation, snr_db, rivals)

    clipped = clipped_samples(clip.samples[clip.onset :])
    if len(clipped) and clipped[-1] > CLIPPED_FOR_S * clip.sample_rate_hz:
        return refuse(
            RefusalReason.CLIPPED,
            "the microphone was overdriven: pluck more gently, move it away, or turn its level down",
        )
    if fitted is None:
        return refuse(
            RefusalReason.TOO_WEAK,
            "nothing that rings stands out of the background: pluck harder, or bring the microphone closer",
        )
    fit = fitted.fit
    fundamental_hz = fit.fundamental_hz
    strongest = int(np.argmax(np.abs(fit.amplitudes) ** 2 * np.minimum(fit.ring_times_s, EARLY_S)))
    heard_s = len(fitted.ring.whitened) / fitted.ring.sample_rate_hz
    support = support_of(fitted)
    if not LOWEST_FUNDAMENTAL_HZ <= fundamental_hz <= HIGHEST_FUNDAMENTAL_HZ:
        return refuse(
            RefusalReason.OUT_OF_RANGE,
            f"rings at {fundamental_hz:.1f} Hz, outside {LOWEST_FUNDAMENTAL_HZ:.0f} to"
            f" {HIGHEST_FUNDAMENTAL_HZ:.0f} Hz: no belt span that this tool can read",
        )
    if heard_s < max(SHORTEST_RING_S, FEWEST_PERIODS / fundamental_hz):
        return refuse(
            RefusalReason.TOO_SHORT,
            "the ring was cut off: let the belt ring out, nothing may touch it after the pluck",
        )
    quality = math.pi * float(fit.frequencies_hz[strongest] * fit.ring_times_s[strongest])
    if quality < LEAST_QUALITY or fall_db(fitted) < LEAST_FALL_DB:
        return refuse(
            RefusalReason.NOT_A_STRING,
            "it does not ring down like a span: a knock, a voice or a machine; pluck the middle of the span",
        )
    if analysis.raw_rise_db < LEAST_RAW_RISE_DB:
        return refuse(
            RefusalReason.SOUND_BEFORE,
            "a sound that was there before stopped: nothing was plucked, or it was louder than the belt",
        )
    if analysis.rise_db < LEAST_RISE_DB and signal_to_noise_db(fitted) > analysis.rise_db + 6:
        return refuse(
            RefusalReason.SOUND_BEFORE,
            "something was still ringing when it began: wait until the belt is silent, then pluck once",
        )
    if quality > MOST_QUALITY_OF_RUBBER and not _is_long_series(analysis.ranked[0]):
        return refuse(
            RefusalReason.NOT_A_STRING,
            "it rings longer than rubber does: metal, a voice or a machine; pluck again",
        )
    alone = set(analysis.ranked[0].partials) == {1}
    long_series = _is_long_series(analysis.ranked[0])
    if support < (LEAST_SUPPORT_ALONE if alone else LEAST_SUPPORT_OF_SERIES if long_series else LEAST_SUPPORT):
        return refuse(
            RefusalReason.NOT_A_STRING,
            f"a span's ring explains only {support:.0%} of the sound: pluck again without touching anything else",
        )
    if fitted.standard_uncertainty_hz > LARGEST_UNCERTAINTY * fundamental_hz:
        return refuse(
            RefusalReason.TOO_WEAK,
            "the ring is too weak in this noise for a reading worth having: bring the microphone within 10 cm"
            " of the span, or pluck harder",
        )
    doubt = _doubt(analysis, fitted)
    if doubt:
        return refuse(RefusalReason.RIVALS, doubt)
    return PluckReading(
        at_s=clip.at_s,
        fundamental_hz=fundamental_hz,
        fundamental_standard_uncertainty_hz=fitted.standard_uncertainty_hz,
        ring_time_s=float(fit.ring_times_s[0]),
        snr_db=snr_db if snr_db is not None else math.nan,
        support=support,
        stretch=fit.stretch,
        glide_hz=max(0.0, fit.glide) * fundamental_hz,
        partials=tuple(
            Partial(int(n), float(f), float(abs(a)), float(t))
            for n, f, a, t in zip(
                fit.numbers, fit.frequencies_hz, fit.amplitudes, fit.ring_times_s, strict=True
            )
        ),
        rivals=rivals,
    )


def _doubt(analysis: Analysis, fitted: FittedRing) -> str:
    """Why another fundamental might be the right one; empty if none might."""
    best = analysis.ranked[0]
    fundamental_hz = fitted.fit.fundamental_hz
    damp = "damp the neighbouring spans with a hand, keep the microphone close to this one, and pluck again"
    for other in analysis.ranked[1:]:
        least = LEAST_LEAD_OF_SERIES if _in_series(other.fundamental_hz / best.fundamental_hz) else LEAST_LEAD
        if best.score - other.score < least:
            return f"{best.fundamental_hz:.1f} Hz and {other.fundamental_hz:.1f} Hz explain the sound equally well: {damp}"
    if abs(fundamental_hz / best.fundamental_hz - 1) > MOST_DRIFT:
        return f"the spectrum shows {best.fundamental_hz:.1f} Hz, the ring-down {fundamental_hz:.1f} Hz: {damp}"
    top_hz = (MOST_PARTIALS + 0.5) * fundamental_hz  # what lies above may be a partial that was not counted
    peaks = [p for p in analysis.peaks if p.frequency_hz < top_hz]
    unexplained = [p for p in peaks if not _explains(best, p)]
    for peak in unexplained if len(best.partials) < LONG_SERIES else ():
        if any(abs(peak.frequency_hz * n / best.fundamental_hz - 1) < 0.03 for n in (2, 3, 4)):
            return f"something also rings at {peak.frequency_hz:.1f} Hz, which may be the fundamental: {damp}"
    total = sum(p.weight for p in peaks)
    loudest = max(p.level for p in best.partials.values())
    if (
        sum(p.weight for p in unexplained) > MOST_UNEXPLAINED * total
        or max((p.level for p in unexplained), default=0.0) > LOUDEST_STRANGER * loudest
    ):
        return f"much of what rings is no partial of {best.fundamental_hz:.1f} Hz: {damp}"
    if set(best.partials) == {1}:
        if best.score < LEAST_SCORE_ALONE:
            return "only one faint partial is heard: bring the microphone within 10 cm of the span, or pluck harder"
        heard, *below = (_power_at(fitted, fundamental_hz / n) for n in (1, 2, 3))
        if min(below) < DEAF_BELOW * heard:
            return (
                f"only {fundamental_hz:.1f} Hz is heard, by a microphone that is deaf below: it may be a partial;"
                " use another microphone, or bring it within 5 cm of the span"
            )
    return ""


def _power_at(fitted: FittedRing, frequency_hz: float) -> float:
    """Power density of the background within a tenth of a frequency, arbitrary unit."""
    before = fitted.ring.before
    if len(before) < fitted.ring.sample_rate_hz * 0.1:
        return 1.0
    power = np.abs(np.fft.rfft(before * np.hanning(len(before)))) ** 2
    spacing_hz = fitted.ring.sample_rate_hz / len(before)
    low = round(0.9 * frequency_hz / spacing_hz)
    return float(np.mean(power[low : max(low + 3, round(1.1 * frequency_hz / spacing_hz))]))


def _explains(hypothesis: Hypothesis, peak: Peak) -> bool:
    """Whether a peak is a partial, or, in a long series, stands so close to one that it is the same string's."""
    if peak in hypothesis.partials.values():
        return True
    law_hz = hypothesis.fundamental_hz * partial_ratio(np.arange(1.0, MOST_PARTIALS + 1), hypothesis.stretch)
    return _is_long_series(hypothesis) and bool(np.min(np.abs(peak.frequency_hz / law_hz - 1)) < 2 * WITHIN)


def _is_long_series(hypothesis: Hypothesis) -> bool:
    """Whether so many partials are heard, where a limp string has them, that chance cannot have put them there."""
    return (
        len(hypothesis.partials) >= LONG_SERIES
        and hypothesis.stretch < LIMP_STRETCH
        and hypothesis.score > LONG_SERIES_SCORE
    )


def _in_series(ratio: float) -> bool:
    """Whether two fundamentals stand as small whole numbers to each other, so that they share partials."""
    ratio = max(ratio, 1 / ratio)
    return any(abs(ratio * d - round(ratio * d)) < 0.05 * d and round(ratio * d) <= 6 for d in (1, 2))


def rivals_of(analysis: Analysis) -> tuple[Rival, ...]:
    """Hypotheses that lost, with the share of the peaks' weight that each explains."""
    total = sum(p.weight for p in analysis.peaks)
    return tuple(
        Rival(h.fundamental_hz, min(1.0, max(0.0, h.score / total)))
        for h in analysis.ranked[1:]
        if h.score > 0
    )


def support_of(fitted: FittedRing) -> float:
    """Share of the ring's energy, less the noise's, that the fit explains in the first three ring times. [1]"""
    fit = fitted.fit
    n = min(
        len(fit.residual), max(16, round(3 * float(np.max(fit.ring_times_s)) * fitted.ring.sample_rate_hz))
    )
    whole = float(np.sum(fitted.ring.whitened[:n] ** 2))
    left = float(np.sum(fit.residual[:n] ** 2))
    signal = max(whole - n, 1e-9)
    return min(1.0, max(0.0, (whole - left) / max(signal, whole - left)))


def fall_db(fitted: FittedRing) -> float:
    """How far the fitted ring falls from the first to the last fifth of what was heard. [dB]"""
    power = (fitted.ring.whitened - fitted.fit.residual) ** 2
    share = max(1, len(power) // 5)
    return 10 * math.log10((float(np.mean(power[:share])) + 1e-9) / (float(np.mean(power[-share:])) + 1e-9))


def signal_to_noise_db(fitted: FittedRing) -> float:
    """Power of the ring over its first ring time against that of the background, in the band of the fit. [dB]"""
    n = max(8, round(float(fitted.fit.ring_times_s[0]) * fitted.ring.sample_rate_hz))
    before = fitted.ring.before if len(fitted.ring.before) else fitted.ring.sound[-n:]
    noise = float(np.mean(before**2)) + 1e-14
    ring = float(np.mean(fitted.ring.sound[:n] ** 2))
    return 10 * math.log10(max(ring - noise, 1e-3 * noise) / noise)
