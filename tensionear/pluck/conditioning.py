"""From a clip as recorded to the sound that is analysed: one rate, no offset, clipped parts known.

Conventions: everything below works at the *analysis rate*, an integer fraction of the clip's own rate
between 4.5 and 9 kHz (the clip's own rate where that is lower already). Partials are looked for up to
`TOP_HZ`; nothing above that can change a reading.
"""

from functools import lru_cache
from math import floor

import numpy as np
import scipy
from numpy.typing import NDArray

TOP_HZ = 1700.0
"""Highest frequency that is analysed. [Hz]"""

LOWEST_ANALYSIS_RATE_HZ = 4500.0
"""Leaves the decimation filter room between `TOP_HZ` and what would fold back below it. [Hz]"""

CLIPPED_LEVEL, HIGHEST_CLIPPED_LEVEL = 0.985, 1.05
"""Levels between which consecutive samples count as clipped: converters rarely stop at 1 exactly, and lossy codecs
ripple. A recording in floating point may go far higher unharmed."""

N_CLIPPED_IN_A_ROW = 3


def decimation_factor(sample_rate_hz: float) -> int:
    """Whole number by which a rate is divided to give the analysis rate. [1]"""
    return max(1, floor(sample_rate_hz / LOWEST_ANALYSIS_RATE_HZ))


@lru_cache(maxsize=16)
def decimation_filter(factor: int) -> NDArray[np.float64]:
    """Linear-phase low-pass of odd length for decimation by `factor`, unit gain at 0 Hz.

    The pass band ends at 0.38 and the stop band begins at 0.62 of the decimated rate, so that what folds
    back lies above the pass band; 60 dB down.
    """
    if factor == 1:
        return np.ones(1)
    return np.asarray(
        scipy.signal.firwin(2 * 8 * factor + 1, 1.0 / factor, window=("kaiser", 6.0)), dtype=np.float64
    )


def decimate(samples: NDArray[np.float32] | NDArray[np.float64], factor: int) -> NDArray[np.float64]:
    """Low-pass and keep every `factor`-th sample; sample k of the result lies at sample ``k·factor``.

    Parameters
    ----------
    samples : array, shape (n,)
    factor : int in [1, inf)

    Returns
    -------
    array of float64, shape (ceil(n / factor),)
    """
    taps = decimation_filter(factor)
    half = len(taps) // 2
    padded = np.concatenate([samples.astype(np.float64), np.zeros(half)])
    n_out = -(-len(samples) // factor)
    # Delay by `half` is undone by starting the output there; `half` is a multiple of `factor`.
    whole = scipy.signal.upfirdn(taps, padded, up=1, down=factor)
    start = half // factor
    return np.asarray(whole[start : start + n_out], dtype=np.float64)


def clipped_samples(samples: NDArray[np.float32]) -> NDArray[np.intp]:
    """Indices of samples that stand at full scale, three or more in a row.

    Parameters
    ----------
    samples : array, shape (n,)
    """
    level = np.abs(samples)
    loud = (level >= CLIPPED_LEVEL) & (level <= HIGHEST_CLIPPED_LEVEL)
    if np.count_nonzero(loud) < N_CLIPPED_IN_A_ROW:
        return np.empty(0, dtype=np.intp)
    run_ends = np.convolve(loud, np.ones(N_CLIPPED_IN_A_ROW), mode="valid") > N_CLIPPED_IN_A_ROW - 0.5
    return np.flatnonzero(run_ends)
