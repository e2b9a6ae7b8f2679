"""A ring of sound between the audio callback, which must never wait, and the one who listens.

Two threads meet here and nowhere else:

- the *writer*, PortAudio's callback thread, calls `write` and `skip`; it never waits. When the reader is too
  slow, the oldest sound is overwritten;
- the *reader* calls `read`. It never waits either, and learns how many frames it lost.

There is no lock. Every frame has a number that counts from the first one and never restarts; frame k lives in
slot k modulo the ring's length. Why that is safe:

- `_n_claimed` and `_n_written` are written by the writer only, `_n_read` by the reader only. Each is one
  reference to an int, which the interpreter stores in one step and in the order of the program: a reader sees
  the old number or the new one, never half of it.
- The writer works in this order: raise `_n_claimed` (1), copy the frames (2), raise `_n_written` to the same
  number (3). A frame below `_n_written` is therefore whole: it was copied before the number that admits it.
- The reader works in this order: look at `_n_written` (a), copy frames below it (b), look at `_n_claimed`
  (c). A slot can only have been overwritten up to the end of (b) by a frame that was claimed before (c),
  because (1) comes before (2). What lies more than a ring's length below `_n_claimed` at (c) is discarded and
  counted as lost; no other slot was touched.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray


class Stretch(NamedTuple):
    """What one `read` gives.

    Attributes
    ----------
    samples : array of float32, shape (n_frames, n_channels)
        Frames without a gap among them, the reader's own copy.
    first_frame : int
        Number of the first of them.
    n_lost_before : int
        Frames between the end of the stretch before and the beginning of this one.
    """

    samples: NDArray[np.float32]
    first_frame: int
    n_lost_before: int


class RingBuffer:
    """The last `n_frames` frames of a sound that one thread writes and another one reads.

    Parameters
    ----------
    n_frames : int
        Frames that it holds, 1 or more.
    n_channels : int
        Channels of each, 1 or more.
    """

    def __init__(self, n_frames: int, n_channels: int) -> None:
        self._slots = np.zeros((n_frames, n_channels), np.float32)
        self._n_slots = n_frames
        self._n_claimed = 0  # writer's: frames that are written or being written
        self._n_written = 0  # writer's: frames that may be read
        self._n_read = 0  # reader's: frames that it has had, or knows to be lost

    def write(self, frames: NDArray[np.float32]) -> None:
        """Append `frames`, shape (n, n_channels), n not above the ring's length. Writer's thread only."""
        start = self._n_written
        end = start + len(frames)
        self._n_claimed = end
        first, second = self._places(start, end)
        self._slots[first] = frames[: first.stop - first.start]
        if second.stop:
            self._slots[second] = frames[first.stop - first.start :]
        self._n_written = end

    def skip(self, n_frames: int) -> None:
        """Advance the clock by frames that were lost before they came here. Writer's thread only.

        They are marked in the ring by NaN: so the place of the gap needs no record that both threads share.
        """
        end = self._n_written + n_frames
        self._n_claimed = end
        for place in self._places(max(self._n_written, end - self._n_slots), end):
            self._slots[place] = np.nan
        self._n_written = end

    def _places(self, start: int, end: int) -> tuple[slice, slice]:
        """Tell where the frames from `start` to `end` lie: two places if they run over the ring's end."""
        slot = start % self._n_slots
        n_first = min(end - start, self._n_slots - slot)
        return slice(slot, slot + n_first), slice(0, end - start - n_first)

    @property
    def n_written(self) -> int:
        """Frames on the clock so far, the lost ones included. For any thread."""
        return self._n_written

    def read(self, n_at_most: int) -> Stretch | None:
        """Take what is there, up to the next gap and `n_at_most` frames; None if nothing is.

        Reader's thread only.
        """
        end = self._n_written
        start = max(self._n_read, end - self._n_slots)
        end = min(end, start + n_at_most)
        samples = np.concatenate([self._slots[place] for place in self._places(start, end)])
        # What was claimed meanwhile may have been overwritten while it was copied.
        n_doubtful = min(max(0, self._n_claimed - self._n_slots - start), len(samples))
        start, samples = start + n_doubtful, samples[n_doubtful:]
        # A driver that delivers NaN or infinity itself has lost those frames just as well.
        sound = np.isfinite(samples).all(axis=1)
        n_gap = int(np.argmax(sound)) if sound.any() else len(samples)
        start, samples, sound = start + n_gap, samples[n_gap:], sound[n_gap:]
        if not len(samples):
            return None
        n_until_gap = len(samples) if sound.all() else int(np.argmin(sound))
        stretch = Stretch(samples[:n_until_gap], start, start - self._n_read)
        self._n_read = start + n_until_gap
        return stretch
