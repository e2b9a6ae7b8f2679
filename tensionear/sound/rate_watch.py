"""Does a microphone run at the rate that it claims? Its frames are counted against the computer's clock.

A device that says 48 kHz and runs at 44.1 kHz makes every frequency 8.8 % too high and every tension 18 %:
a confident wrong number. But frames arrive in bursts, the first ones in a rush, and a busy computer looks at
the clock late. What tells the rate in spite of that:

- Delays only ever make frames late. Of every half second the frame that came earliest is kept.
- Through those of the last 30 s goes the line of Theil and Sen (the median of the slopes of all pairs), which
  single stragglers do not tilt [1]_.
- How far they scatter about the line, over the time they span, is how wrong the slope can be. Only what is
  above that counts as a false rate, so a large error shows within seconds and a small one when the window is
  long enough to be sure.
- A sound server that changes the length of its buffer shifts everything at once and tilts the line. But a
  device that runs falsely does so all the time: every third of the window must say the same.

References
----------
.. [1] P. K. Sen (1968), "Estimates of the regression coefficient based on Kendall's tau", Journal of the
   American Statistical Association 63, 1379-1389, doi:10.1080/01621459.1968.10480934 (cited from memory).
"""

from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

LARGEST_RATE_DEVIATION = 0.005
"""Beyond this share the claimed rate is called false. It is 1 % in tension; sound cards agree to 0.05 %."""

_SETTLING_S = 1.0
_BIN_S = 0.5
_WINDOW_S = 30.0
_N_BINS_TO_JUDGE = 9


@dataclass(frozen=True)
class FalseRate:
    """A claim that was found false.

    Attributes
    ----------
    claimed_hz : float
        What the device says. [Hz]
    measured_hz : float
        What was counted. [Hz]
    over_s : float
        Time over which it was counted. [s]
    """

    claimed_hz: float
    measured_hz: float
    over_s: float

    @property
    def frequency_error(self) -> float:
        """Share by which every frequency would be read too high; negative: too low. [1]."""
        return self.claimed_hz / self.measured_hz - 1

    @property
    def tension_error(self) -> float:
        """Share by which every tension would be read too high: it goes with the frequency's square. [1]."""
        return (self.claimed_hz / self.measured_hz) ** 2 - 1


class RateWatch:
    """Counts frames against a clock and tells when the claimed rate cannot be true.

    Parameters
    ----------
    claimed_hz : float
        Frames per second as the device says. [Hz]
    """

    def __init__(self, claimed_hz: float) -> None:
        self._claimed_hz = claimed_hz
        self._earliest: deque[tuple[float, int]] = deque(maxlen=round(_WINDOW_S / _BIN_S))
        self.restart()

    def restart(self) -> None:
        """Forget everything: frames were lost, and the count says nothing until it has begun anew."""
        self._earliest.clear()
        self._begin_s: float | None = None
        self._bin = 0
        self._best: tuple[float, int] | None = None

    def see(self, time_s: float, n_frames: int) -> FalseRate | None:
        """Take note that by `time_s` there were `n_frames`.

        Parameters
        ----------
        time_s : float
            On a clock that never jumps. [s]
        n_frames : int
            Frames since the beginning, never falling.

        Returns
        -------
        FalseRate or None
            None as long as the claim may be true.
        """
        if self._begin_s is None:
            self._begin_s = time_s + _SETTLING_S
        if time_s < self._begin_s:
            return None
        verdict = None
        this_bin = int((time_s - self._begin_s) / _BIN_S)
        if this_bin != self._bin and self._best is not None:
            self._earliest.append(self._best)
            self._best = None
            verdict = self._judge()
        self._bin = this_bin
        if self._best is None or self._lead(time_s, n_frames) > self._lead(*self._best):
            self._best = (time_s, n_frames)
        return verdict

    def _lead(self, time_s: float, n_frames: int) -> float:
        """Tell how many frames are there beyond what the claim lets expect: the most is the least delayed."""
        return n_frames - self._claimed_hz * time_s

    def _judge(self) -> FalseRate | None:
        if len(self._earliest) < _N_BINS_TO_JUDGE:
            return None
        times_s = np.array([time_s for time_s, _ in self._earliest])
        counts = np.array([n_frames for _, n_frames in self._earliest], np.float64)
        rate_hz = _slope(times_s, counts)
        if rate_hz <= 0:  # nothing came: that is a stall, not a rate
            return None
        over_s = float(times_s[-1] - times_s[0])
        doubt = float(np.ptp(counts - rate_hz * times_s)) / over_s / self._claimed_hz
        thirds = zip(np.array_split(times_s, 3), np.array_split(counts, 3), strict=True)
        deviations = np.array([_slope(*third) / self._claimed_hz - 1 for third in thirds])
        sign = np.sign(rate_hz - self._claimed_hz)
        whole = abs(rate_hz / self._claimed_hz - 1) - doubt
        if min(whole, float((sign * deviations).min())) <= LARGEST_RATE_DEVIATION:
            return None
        return FalseRate(self._claimed_hz, rate_hz, over_s)


def _slope(x: NDArray[np.float64], y: NDArray[np.float64]) -> float:
    """Find the median of the slopes of all pairs of points."""
    first, second = np.triu_indices(len(x), 1)
    return float(np.median((y[second] - y[first]) / (x[second] - x[first])))
