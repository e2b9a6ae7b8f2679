"""A stream of samples in, read plucks out.

The stream is worked through in chunks of fixed length on its own sample clock, whatever the blocks it arrives
in: the same samples give the same readings, live or from a file.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tensionear.pluck.conditioning import decimate, decimation_factor, decimation_filter
from tensionear.pluck.estimator import read_clip
from tensionear.pluck.outcome import PluckClip, PluckOutcome
from tensionear.pluck.trigger import BandMeter, Cut, Trigger

BEFORE_S = 1.5
"""Sound kept before the onset: what was there anyway is learnt from it. [s]"""

CHUNK_HOPS = 10


@dataclass(frozen=True)
class HeardPluck:
    """A pluck's sound and what became of it."""

    clip: PluckClip
    outcome: PluckOutcome


class PluckListener:
    """Hears plucks in one channel of sound.

    Parameters
    ----------
    sample_rate_hz : float in [8000, 192000]
        [Hz]
    """

    def __init__(self, sample_rate_hz: float) -> None:
        self._sample_rate_hz = sample_rate_hz
        self._factor = decimation_factor(sample_rate_hz)
        self._meter = BandMeter(sample_rate_hz / self._factor)
        self._hop = self._meter.hop * self._factor
        self._lead = len(decimation_filter(self._factor)) // 2
        self._start_afresh(0)

    def _start_afresh(self, first_sample: int) -> None:
        # Hop 0 is the first whose frame lies wholly in the sound.
        self._trigger = Trigger()
        self._origin = first_sample
        self._kept = np.empty(0, dtype=np.float32)
        self._arrived: list[NDArray[np.float32]] = []
        self._n_arrived = 0
        self._kept_from = first_sample
        self._n_measured = 0

    @property
    def _heard_up_to(self) -> int:
        return self._kept_from + len(self._kept) + self._n_arrived

    def hear(self, samples: NDArray[np.float32], n_lost_before: int = 0) -> list[HeardPluck]:
        """Take the next samples; return the plucks whose ring ended in them.

        Parameters
        ----------
        samples : array of float32, shape (n,)
            Full scale 1.
        n_lost_before : int
            Samples lost since the last call: what was open is dropped, for its ring has a hole.
        """
        if n_lost_before:
            self._start_afresh(self._heard_up_to + n_lost_before)
        self._arrived.append(np.asarray(samples, dtype=np.float32))
        self._n_arrived += len(samples)
        heard: list[HeardPluck] = []
        chunk = CHUNK_HOPS * self._hop
        overlap = (self._meter.frame - self._meter.hop) * self._factor
        while True:
            start = self._origin + self._n_measured * self._hop
            end = start + overlap + chunk
            if end + self._lead > self._heard_up_to:
                break
            self._gather()
            heard += self._measure(start, end)
        self._forget()
        return heard

    def finish(self) -> list[HeardPluck]:
        """The sound has ended: read what is still open."""
        self._gather()
        start = self._origin + self._n_measured * self._hop
        heard = self._measure(start, self._heard_up_to) if self._heard_up_to > start else []
        heard += [self._read(cut) for cut in self._trigger.finish()]
        self._start_afresh(self._heard_up_to)
        return heard

    def _gather(self) -> None:
        # Blocks of a microphone are short: joined only when a chunk is due, not one by one.
        if self._arrived:
            self._kept = np.concatenate([self._kept, *self._arrived])
            self._arrived, self._n_arrived = [], 0

    def _measure(self, start: int, end: int) -> list[HeardPluck]:
        low = max(self._kept_from, start - self._lead)
        low += (start - low) % self._factor
        stop = min(end + self._lead, self._heard_up_to)
        sound = decimate(self._kept[low - self._kept_from : stop - self._kept_from], self._factor)
        sound = sound[(start - low) // self._factor : (end - low) // self._factor]
        if len(sound) < self._meter.frame:
            return []
        energies = self._meter.energies(sound)
        self._n_measured += len(energies)
        return [self._read(cut) for cut in self._trigger.advance(energies)]

    def _read(self, cut: Cut) -> HeardPluck:
        frame_lead = self._meter.frame // 2 * self._factor
        onset = self._origin + cut.onset_hop * self._hop + frame_lead
        end = min(self._heard_up_to, self._origin + cut.end_hop * self._hop + frame_lead * 2)
        first = max(self._origin, self._kept_from, onset - round(BEFORE_S * self._sample_rate_hz))
        samples = self._kept[first - self._kept_from : end - self._kept_from].copy()
        clip = PluckClip(samples, self._sample_rate_hz, min(onset - first, len(samples)), first)
        return HeardPluck(clip, read_clip(clip))

    def _forget(self) -> None:
        longest_s = BEFORE_S + 3.0
        keep = round(longest_s * self._sample_rate_hz)
        if len(self._kept) > 2 * keep:
            drop = len(self._kept) - keep
            self._kept = self._kept[drop:].copy()
            self._kept_from += drop
