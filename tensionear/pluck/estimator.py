"""A pluck's clip in, a reading or a refusal out; nothing but the clip goes in.

`analysis` finds out what the clip tells, `judgement` whether that is enough: a refused pluck costs a minute, a wrong
one an engine. No expectation of the belt comes in anywhere: a prior would hide the belt that is set wrong.
"""

from tensionear.pluck import measures
from tensionear.pluck.analysis import Analysis, analyse_clip
from tensionear.pluck.judgement import refusal
from tensionear.pluck.outcome import Partial, PluckClip, PluckOutcome, PluckReading, PluckRefusal, Rival

ESTIMATOR_VERSION = 1
"""Raised whenever the same clip may be read otherwise than before; kept with every pluck of a job."""


def read_clip(clip: PluckClip) -> PluckOutcome:
    """Read one pluck, or say why not.

    Parameters
    ----------
    clip : PluckClip
        Sound from about a second before the pluck to the end of its ring.
    """
    return outcome_of(clip, analyse_clip(clip))


def outcome_of(clip: PluckClip, analysis: Analysis) -> PluckOutcome:
    """Turn an analysis of `clip` into a reading or a refusal."""
    refused = refusal(clip, analysis)
    fitted = analysis.fitted
    if refused is not None:
        snr_db = measures.signal_to_noise_db(fitted) if fitted else None
        return PluckRefusal(clip.at_s, *refused, snr_db, _rivals(analysis, 0))
    assert fitted is not None  # noqa: S101  # nothing fitted is a ground for refusal
    fit, fundamental_hz = fitted.fit, fitted.posterior.fundamental_hz
    heard = {1, *analysis.ranked[0].partials}
    # The average moves all partials alike: their ratios are the fit's.
    frequencies_hz = fit.frequencies_hz * (fundamental_hz / fit.fundamental_hz)
    partials = zip(fit.numbers, frequencies_hz, fit.amplitudes, fit.ring_times_s, strict=True)
    return PluckReading(
        at_s=clip.at_s,
        fundamental_hz=fundamental_hz,
        fundamental_standard_uncertainty_hz=fitted.posterior.standard_uncertainty_hz,
        ring_time_s=float(fit.ring_times_s[0]),
        snr_db=measures.signal_to_noise_db(fitted),
        support=measures.support(fitted),
        stretch=fit.stretch,
        glide_hz=fitted.posterior.glide * fundamental_hz,
        partials=tuple(
            Partial(int(n), float(f), float(abs(a)), float(t)) for n, f, a, t in partials if n in heard
        ),
        rivals=_rivals(analysis, 1),
    )


def _rivals(analysis: Analysis, first: int) -> tuple[Rival, ...]:
    """Hypotheses from the `first` on, with the share of the peaks' weight that each explains."""
    total = sum(p.weight for p in analysis.peaks)
    return tuple(
        Rival(h.fundamental_hz, min(1.0, h.score / total)) for h in analysis.ranked[first:] if h.score > 0
    )
