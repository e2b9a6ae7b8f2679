"""When something begins: a streaming trigger on the energy in bands, and when its ring has ended.

Sound is looked at in frames of `FRAME_S`, every `HOP_S`, in bands. A frame's energy in a band is taken to be
chi-squared about the background's, with degrees of freedom after the background's own unrest: many in a band that a
steady hum fills, few in one where somebody talks. The log-likelihood ratio that the energy rose, summed over the
bands, is the *surprise* of a hop. A pluck in a quiet shop surprises by thousands of nats, one hardly heard by a
hundred.

The trigger only cuts: it opens at anything that begins, and the analysis of what it cut says what it was.
Everything here counts in hops, so that the same samples give the same cuts however they arrive.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

HOP_S = 0.01
FRAME_S = 0.04

BAND_EDGES_HZ = (*range(20, 600, 25), 655, 735, 835, 955, 1100, 1270, 1470, 1700)
"""Bands as narrow as the frame resolves where belts ring: between two lines of the mains' hum a belt is heard."""

FEWEST_DEGREES, MOST_DEGREES = 1.5, 60.0

SURPRISE = 70.0
"""Surprise that opens an event; steady noise reaches it less than once a day. [nat]"""

LEAST_RISE = 4.0
"""Rise of energy that at least one band must show: slow swells of noise surprise, but do not rise so far."""

BACKGROUND_HOPS = 100
GAP_HOPS = 6
"""The background is the median of the last second, less the last moments, in which a slow attack may hide."""

SAME_ATTACK_HOPS = 8
SLOW_ATTACK_HOPS = 15
PRELUDE_HOPS = 40
PRELUDE_RISE = 8.0
"""A finger rubs over the belt before it lets go: what rises again within 0.15 s is the same pluck, and what follows
within 0.4 s with 9 dB more is the pluck itself."""

AGAIN_RISE = 6.0
"""Rise of energy, against the loudest of the moments before, that is a new pluck within the ring of the last."""

AGAIN_LOUDER = 1.6
"""And the least rise of the whole energy: partials of one ring that beat swell in a band, but not in all."""

AFTERGLOW_HOPS = 150
"""What is left of a ring may still surprise; for so long after it only what rises again is something new."""

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


@dataclass(frozen=True)
class Background:
    """What each band held in the last second.

    Attributes
    ----------
    energy : array, shape (n_bands,)
        Median.
    degrees : array, shape (n_bands,)
        Degrees of freedom of the chi-squared distribution that spreads as the energies did.
    """

    energy: NDArray[np.float64]
    degrees: NDArray[np.float64]

    def surprises(self, energies: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Whether each hop of `energies`, shape (n_hops, n_bands), surprises; shape (n_hops,)."""
        rise = np.maximum(energies / self.energy, 1.0)
        surprise = (rise - 1 - np.log(rise)) @ (self.degrees / 2)
        return np.asarray((surprise > SURPRISE) & (rise.max(axis=1) > LEAST_RISE))


@dataclass
class _Event:
    onset_hop: int
    background: Background
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
        self._edges = np.searchsorted(bins_hz, BAND_EDGES_HZ)

    def energies(self, sound: NDArray[np.float64]) -> NDArray[np.float64]:
        """Energies of all whole frames of `sound`, one a hop; shape (n_hops, n_bands)."""
        frames = np.lib.stride_tricks.sliding_window_view(sound, self.frame)[:: self.hop]
        power = np.abs(np.fft.rfft(frames * self._window, 2 * self.frame, axis=1)) ** 2 / self.frame
        return np.asarray(np.add.reduceat(power, self._edges, axis=1)[:, :-1] + LEAST_ENERGY)


class Trigger:
    """Turns band energies, hop by hop, into cuts."""

    def __init__(self) -> None:
        self._history: list[NDArray[np.float64]] = []
        self._n_hops = 0
        self._event: _Event | None = None
        self._ended_hop = -AFTERGLOW_HOPS
        self._first_background: Background | None = None

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
        quiet = np.quantile(energies, 0.25, axis=0) * 1.5
        self._first_background = Background(quiet, np.full(energies.shape[1], FEWEST_DEGREES))
        return self._run(energies)

    def _run(self, energies: NDArray[np.float64]) -> list[Cut]:
        past = np.asarray(self._history).reshape(-1, energies.shape[1])
        every = np.concatenate([past, energies])
        background = self._background(past)
        begins = background.surprises(energies)
        cuts: list[Cut] = []
        for i in range(len(energies)):
            if self._event is not None:
                cut = self._follow(self._event, every, len(past) + i)
                if cut is not None:
                    cuts.append(cut)
            elif begins[i] and (
                self._n_hops - self._ended_hop > AFTERGLOW_HOPS
                or _rises_again(every, len(past) + i, background)
            ):
                self._open(energies[i], background)
            self._n_hops += 1
        self._history = list(every[-(BACKGROUND_HOPS + GAP_HOPS) :])
        return cuts

    def _background(self, past: NDArray[np.float64]) -> Background:
        """The last second but its last moments."""
        if len(past) < BACKGROUND_HOPS + GAP_HOPS:
            assert self._first_background is not None  # noqa: S101
            return self._first_background
        known = past[-(BACKGROUND_HOPS + GAP_HOPS) : -GAP_HOPS]
        quarters = [BACKGROUND_HOPS // 4, BACKGROUND_HOPS // 2, 3 * BACKGROUND_HOPS // 4]
        lower, median, upper = np.partition(known, quarters, axis=0)[quarters]
        # Of a normal distribution, the quartiles lie 1.35 standard deviations apart; ln E spreads by sqrt(2/ν).
        spread = np.log(upper / lower) / 1.35
        return Background(median, np.clip(2 / (spread**2 + 1e-9), FEWEST_DEGREES, MOST_DEGREES))

    def _follow(self, event: _Event, every: NDArray[np.float64], k: int) -> Cut | None:
        """Follow an open event through the hop ``every[k]``."""
        energy = every[k]
        age = self._n_hops - event.onset_hop
        quiet = event.background.energy
        level = float(np.sum(np.maximum(0.0, energy - quiet)[event.bands]))
        if age <= SAME_ATTACK_HOPS:
            event.bands |= energy > LEAST_RISE * quiet
            event.peak = max(event.peak, level)
            return None
        if _rises_again(every, k, event.background):
            rise = float(np.sum(energy - quiet)) / (event.peak + LEAST_ENERGY)
            if age <= SLOW_ATTACK_HOPS or (age <= PRELUDE_HOPS and rise > PRELUDE_RISE):
                self._open(energy, event.background)
                return None
            cut = Cut(event.onset_hop, self._n_hops - 4)
            self._open(energy, event.background)
            return cut
        faded = not event.bands.any() or np.mean((energy / quiet)[event.bands]) < 2.0
        event.n_quiet = event.n_quiet + 1 if faded or level < FALLEN_TO * event.peak else 0
        if age >= LONGEST_RING_HOPS or (age >= SHORTEST_RING_HOPS and event.n_quiet >= QUIET_HOPS):
            self._event = None
            self._ended_hop = self._n_hops
            return Cut(event.onset_hop, self._n_hops)
        return None

    def _open(self, energy: NDArray[np.float64], background: Background) -> None:
        bands = energy > LEAST_RISE * background.energy
        level = float(np.sum(np.maximum(0.0, energy - background.energy)[bands]))
        self._event = _Event(self._n_hops, background, bands, level)


def _rises_again(every: NDArray[np.float64], k: int, background: Background) -> bool:
    """Whether hop ``every[k]`` begins something new within, or just after, a ring."""
    before = every[max(0, k - 12) : max(1, k - 3)]
    if np.sum(every[k]) <= AGAIN_LOUDER * np.max(np.sum(before, axis=1)):
        return False
    recent = AGAIN_RISE / LEAST_RISE * np.max(before, axis=0)
    raised = replace(background, energy=np.maximum(recent, background.energy))
    return bool(raised.surprises(every[k : k + 1])[0])
