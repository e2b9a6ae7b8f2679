"""When something begins: a streaming trigger on the energy in bands, and when its ring has ended.

Sound is looked at in frames of `FRAME_S`, every `HOP_S`, in bands. A frame's energy in a band, in steady noise,
is chi-squared about the background's; the log-likelihood ratio that it rose, summed over the bands, is the
*surprise* of a hop. A pluck in a quiet shop surprises by thousands of nats, one hardly heard by some tens.

The trigger only cuts: it opens at anything that begins, and the analysis of what it cut says what it was.
Everything here counts in hops, so that the same samples give the same cuts however they arrive.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

HOP_S = 0.01
FRAME_S = 0.04

BAND_EDGES_HZ = (20, 50, 80, 115, 155, 200, 260, 340, 440, 580, 760, 1000, 1300, 1700)

SURPRISE = 30.0
"""Surprise that opens an event; steady noise reaches it less than once a day. [nat]"""

LEAST_RISE = 4.0
"""Rise of energy that at least one band must show: slow swells of noise surprise, but do not rise so far."""

BACKGROUND_HOPS = 100
GAP_HOPS = 6
"""The background is the median of the last second, less the last moments, in which a slow attack may hide."""

SAME_ATTACK_HOPS = 8
PRELUDE_HOPS = 40
PRELUDE_RISE = 8.0
"""A finger rubs over the belt before it lets go: what follows within 0.4 s with 9 dB more is the pluck itself."""

AGAIN_RISE = 6.0
"""Rise of energy, against the loudest of the moments before, that is a new pluck within the ring of the last."""

SHORTEST_RING_HOPS = 16
LONGEST_RING_HOPS = 200
FALLEN_TO = 3e-4
"""Share of its greatest energy at which a ring counts as over."""

QUIET_HOPS = 6
"""Hops in a row near the background that end a ring."""

LEAST_ENERGY = 1e-10
"""Energy assumed in every band at least, full scale 1: digital silence would make the faintest click a surprise."""


@dataclass(frozen=True)
class Cut:
    """Something that began and ended.

    Attributes
    ----------
    onset_hop, end_hop : int
        First hop of the attack, and the hop at which the ring is over.
    """

    onset_hop: int
    end_hop: int


@dataclass
class _Event:
    onset_hop: int
    background: NDArray[np.float64]
    bands: NDArray[np.bool_]
    peak: float = 0.0
    n_quiet: int = 0


class BandMeter:
    """Energies in bands, frame by frame.

    Parameters
    ----------
    sample_rate_hz : float
        Analysis rate. [Hz]
    """

    def __init__(self, sample_rate_hz: float) -> None:
        self.hop = round(HOP_S * sample_rate_hz)
        self.frame = round(FRAME_S / HOP_S) * self.hop
        self._window = np.hanning(self.frame + 2)[1:-1]
        self._window /= np.sqrt(np.sum(self._window**2))
        bins_hz = np.fft.rfftfreq(2 * self.frame, 1 / sample_rate_hz)
        edges = np.searchsorted(bins_hz, BAND_EDGES_HZ)
        self._edges = edges
        widths_hz = np.diff(BAND_EDGES_HZ).astype(np.float64)
        # Degrees of freedom of the energy in a band: two for each 1.5/FRAME_S of width that the window resolves.
        self.degrees = np.maximum(2.0, 2.0 * widths_hz * FRAME_S / 1.5)

    def energies(self, sound: NDArray[np.float64]) -> NDArray[np.float64]:
        """Energies of all whole frames of `sound`, one a hop; shape (n_hops, n_bands)."""
        frames = np.lib.stride_tricks.sliding_window_view(sound, self.frame)[:: self.hop]
        power = np.abs(np.fft.rfft(frames * self._window, 2 * self.frame, axis=1)) ** 2 / self.frame
        return np.asarray(np.add.reduceat(power, self._edges, axis=1)[:, :-1] + LEAST_ENERGY)


@dataclass
class Trigger:
    """Turns band energies, hop by hop, into cuts.

    Parameters
    ----------
    degrees : array, shape (n_bands,)
        Degrees of freedom of the energy in each band.
    """

    degrees: NDArray[np.float64]
    _history: list[NDArray[np.float64]] = field(default_factory=list)
    _n_hops: int = 0
    _event: _Event | None = None
    _first_background: NDArray[np.float64] | None = None

    def advance(self, energies: NDArray[np.float64]) -> list[Cut]:
        """Take the next hops, shape (n_hops, n_bands); return what ended in them."""
        if self._first_background is None:
            self._history.extend(energies)
            if len(self._history) < BACKGROUND_HOPS:
                return []
            waiting, self._history = self._history, []
            return self._begin(np.asarray(waiting))
        return self._run(energies)

    def finish(self) -> list[Cut]:
        """The sound has ended; return what was still open."""
        cuts: list[Cut] = []
        if self._first_background is None and self._history:
            waiting, self._history = self._history, []
            cuts = self._begin(np.asarray(waiting))
        if self._event is not None:
            cuts.append(Cut(self._event.onset_hop, self._n_hops))
            self._event = None
        return cuts

    def _begin(self, energies: NDArray[np.float64]) -> list[Cut]:
        # Nothing is known before the sound begins, and a recording may begin with the pluck: its own quieter
        # moments stand for the background.
        self._first_background = np.quantile(energies, 0.25, axis=0) * 1.5
        return self._run(energies)

    def _run(self, energies: NDArray[np.float64]) -> list[Cut]:
        past = np.asarray(self._history).reshape(-1, energies.shape[1])
        every = np.concatenate([past, energies])
        n_past = len(past)
        backgrounds = self._backgrounds(every, n_past)
        cuts: list[Cut] = []
        for i in range(len(energies)):
            cut = self._step(every, n_past + i, backgrounds[i])
            if cut is not None:
                cuts.append(cut)
            self._n_hops += 1
        keep = BACKGROUND_HOPS + GAP_HOPS + 12
        self._history = list(every[-keep:])
        return cuts

    def _backgrounds(self, every: NDArray[np.float64], n_past: int) -> NDArray[np.float64]:
        """Background of each new hop, shape (n_hops, n_bands)."""
        n = len(every) - n_past
        assert self._first_background is not None  # noqa: S101
        out = np.empty((n, every.shape[1]))
        n_first = 0
        while n_first < n and n_past + n_first < BACKGROUND_HOPS + GAP_HOPS:
            out[n_first] = self._first_background
            n_first += 1
        if n_first < n:
            start = n_past + n_first - GAP_HOPS - BACKGROUND_HOPS
            windows = np.lib.stride_tricks.sliding_window_view(every[start:], BACKGROUND_HOPS, axis=0)
            out[n_first:] = np.median(windows[: n - n_first], axis=2)
        return out

    def _step(self, every: NDArray[np.float64], k: int, background: NDArray[np.float64]) -> Cut | None:
        energy = every[k]
        event = self._event
        if event is None:
            if self._surprise(energy, background):
                self._open(energy, background)
            return None
        age = self._n_hops - event.onset_hop
        level = float(np.sum(np.maximum(0.0, energy - event.background)[event.bands]))
        if age <= SAME_ATTACK_HOPS:
            event.bands |= energy > 4.0 * event.background
            event.peak = max(event.peak, level)
            return None
        recent = np.max(every[max(0, k - 12) : k - 3], axis=0)
        if self._surprise(energy, np.maximum(AGAIN_RISE / LEAST_RISE * recent, event.background)):
            if age <= PRELUDE_HOPS and float(np.sum(energy - event.background)) > PRELUDE_RISE * event.peak:
                self._open(energy, event.background)
                return None
            cut = Cut(event.onset_hop, self._n_hops - 4)
            self._open(energy, event.background)
            return cut
        near = (
            np.mean(energy[event.bands] / event.background[event.bands]) < 2.0 if event.bands.any() else True
        )
        event.n_quiet = event.n_quiet + 1 if near or level < FALLEN_TO * event.peak else 0
        over = age >= SHORTEST_RING_HOPS and event.n_quiet >= QUIET_HOPS
        if over or age >= LONGEST_RING_HOPS:
            self._event = None
            return Cut(event.onset_hop, self._n_hops)
        return None

    def _surprise(self, energy: NDArray[np.float64], background: NDArray[np.float64]) -> bool:
        rise = np.maximum(energy / background, 1.0)
        surprise = np.sum(self.degrees / 2 * (rise - 1 - np.log(rise)))
        return bool(surprise > SURPRISE and np.max(rise) > LEAST_RISE)

    def _open(self, energy: NDArray[np.float64], background: NDArray[np.float64]) -> None:
        bands = energy > 4.0 * background
        level = float(np.sum(np.maximum(0.0, energy - background)[bands]))
        self._event = _Event(self._n_hops, background.copy(), bands, level)
