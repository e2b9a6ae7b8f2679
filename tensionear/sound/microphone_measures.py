"""What can be measured in a few seconds of a microphone's sound.

Conventions: sound is float64 of one channel, shape (n_samples,), full scale 1; levels are in decibels, where
a sine of full scale has 0 dB.
"""

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float64]
"""Sound of one channel, shape (n_samples,)."""

_FRAME_S = 0.02
_N_STEADY_FRAMES = 5
_STEADY_DB = 6.0
_N_HUM_LINES = 6
_HEARD_HUM_DB = 10.0
_TOP_SHARE = 0.002
_N_TOP = 10
_FLAT_RATIO = 5.0
_NOTHING = 1e-20  # -200 dB: what stands for no power at all where a logarithm needs one


def steepest_step_db(frames_db: Samples) -> float:
    """Find the largest fall from one steady level to another, with one frame between them. [dB]."""
    steady = np.lib.stride_tricks.sliding_window_view(frames_db, _N_STEADY_FRAMES)
    is_steady = np.ptp(steady, axis=1) <= _STEADY_DB
    level_db = steady.mean(axis=1)
    apart = _N_STEADY_FRAMES + 1
    falls_db = np.where(is_steady[:-apart] & is_steady[apart:], level_db[:-apart] - level_db[apart:], 0.0)
    return float(falls_db.max(initial=0.0))


def mains_hum(sound: Samples, sample_rate_hz: float) -> tuple[float, float | None]:
    """Tell the mains frequency [Hz] that hums more, and its level [dB]; None if it does not stand out."""
    frequency_hz, density = spectral_density(sound, sample_rate_hz, segment_s=len(sound) / sample_rate_hz)
    step_hz = float(frequency_hz[1])

    def lines(mains_hz: float) -> tuple[float, float]:
        power = noise_power = 0.0
        for number in range(1, _N_HUM_LINES + 1):
            offset_hz = np.abs(frequency_hz - number * mains_hz)
            on_line = offset_hz <= 2 * step_hz
            around = (offset_hz > 3 * step_hz) & (offset_hz < mains_hz / 2)
            noise = float(np.median(density[around])) if around.any() else 0.0
            power += float(density[on_line].sum()) * step_hz
            noise_power += noise * int(on_line.sum()) * step_hz
        return max(0.0, power - noise_power), noise_power

    powers = {mains_hz: lines(mains_hz) for mains_hz in (50.0, 60.0)}
    mains_hz = max(powers, key=lambda mains_hz: powers[mains_hz][0])
    power, noise_power = powers[mains_hz]
    if in_db(power) - in_db(noise_power) < _HEARD_HUM_DB:
        return mains_hz, None
    return mains_hz, in_db(power)


def spectral_density(
    sound: Samples, sample_rate_hz: float, segment_s: float = 0.5
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Compute the power per hertz, 1 being a full-scale sine's power, from segments that overlap by half.

    References
    ----------
    .. [1] P. D. Welch (1967), "The use of fast Fourier transform for the estimation of power spectra", IEEE
       Transactions on Audio and Electroacoustics 15, 70-73, doi:10.1109/TAU.1967.1161901 (cited from memory).
    """
    n_segment = min(len(sound), round(segment_s * sample_rate_hz))
    window = np.hanning(n_segment)
    segments = np.lib.stride_tricks.sliding_window_view(sound, n_segment)[:: max(1, n_segment // 2)]
    power = np.mean(np.abs(np.fft.rfft(segments * window, axis=1)) ** 2, axis=0)
    # One-sided: twice; and twice again because a full-scale sine has the power 1/2.
    density: NDArray[np.float64] = 4 * power / (sample_rate_hz * np.sum(window**2))
    return np.asarray(np.fft.rfftfreq(n_segment, 1 / sample_rate_hz), np.float64), density


def frame_levels_db(sound: Samples, sample_rate_hz: float) -> Samples:
    """Compute the level of every 20 ms. [dB]."""
    n_frame = round(_FRAME_S * sample_rate_hz)
    frames = sound[: len(sound) // n_frame * n_frame].reshape(-1, n_frame)
    levels_db: Samples = 10 * np.log10(2 * np.mean(frames**2, axis=1) + _NOTHING)
    return levels_db


def is_flat_topped(sound: Samples) -> bool:
    """Tell whether the top of the sound is cut off.

    The topmost 0.2 % of the height then hold far more samples than the next 0.2 %. A sine, which stays at its
    top longer than any other sound, has 1/(sqrt(2) - 1) = 2.4 times as many there, whatever its frequency.
    """
    top = float(sound.max())
    n_top, n_next = (
        int(np.count_nonzero(sound >= (1 - share) * top)) for share in (_TOP_SHARE, 2 * _TOP_SHARE)
    )
    n_next -= n_top
    return n_top >= _N_TOP and n_top > _FLAT_RATIO * (n_next + 1)


def longest_run(hits: NDArray[np.bool_]) -> int:
    """Count the longest uninterrupted run of hits."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], hits, [False]]).astype(np.int8)))
    return int((edges[1::2] - edges[::2]).max(initial=0))


def in_db(power: float) -> float:
    """Express a power ratio in decibels."""
    return 10 * float(np.log10(power + _NOTHING))
