"""The ring between the audio callback and its reader: numbers, losses, two interleavings of the threads."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from tensionear.sound.ring_buffer import RingBuffer, Stretch


def numbered(first: int, n_frames: int, n_channels: int = 1) -> NDArray[np.float32]:
    """Frames whose samples say which frame they are."""
    return np.repeat(np.arange(first, first + n_frames, dtype=np.float32)[:, None], n_channels, axis=1)


def assert_true_to_its_number(stretch: Stretch) -> None:
    np.testing.assert_array_equal(
        stretch.samples[:, 0], stretch.first_frame + np.arange(len(stretch.samples))
    )


def test_nothing_written_gives_nothing() -> None:
    assert RingBuffer(8, 1).read(100) is None


def test_frames_come_out_as_they_went_in_and_once_only() -> None:
    ring = RingBuffer(8, 2)
    ring.write(numbered(0, 5, 2))
    stretch = ring.read(100)
    assert stretch is not None
    assert (stretch.first_frame, stretch.n_lost_before) == (0, 0)
    np.testing.assert_array_equal(stretch.samples, numbered(0, 5, 2))
    assert ring.read(100) is None


def test_stretch_over_the_end_of_the_ring_is_whole() -> None:
    ring = RingBuffer(8, 1)
    ring.write(numbered(0, 6))
    ring.read(100)
    ring.write(numbered(6, 6))
    stretch = ring.read(100)
    assert stretch is not None
    assert (stretch.first_frame, stretch.n_lost_before, len(stretch.samples)) == (6, 0, 6)
    assert_true_to_its_number(stretch)


def test_reader_owns_what_it_got() -> None:
    ring = RingBuffer(4, 1)
    ring.write(numbered(0, 4))
    stretch = ring.read(100)
    assert stretch is not None
    ring.write(numbered(4, 4))
    assert_true_to_its_number(stretch)


def test_slow_reader_learns_how_many_frames_it_lost() -> None:
    ring = RingBuffer(8, 1)
    ring.write(numbered(0, 3))
    ring.read(100)
    for first in range(3, 18, 5):
        ring.write(numbered(first, 5))
    stretch = ring.read(100)
    assert stretch is not None
    assert (stretch.first_frame, stretch.n_lost_before) == (10, 7)  # 18 written, 8 kept, 3 read before
    assert_true_to_its_number(stretch)


def test_read_takes_no_more_than_asked_for() -> None:
    ring = RingBuffer(8, 1)
    ring.write(numbered(0, 7))
    lengths = []
    while stretch := ring.read(3):
        assert_true_to_its_number(stretch)
        lengths.append(len(stretch.samples))
    assert lengths == [3, 3, 1]


@pytest.mark.parametrize("n_skipped", [1, 5, 8, 100])
def test_skipped_frames_end_a_stretch_and_count_as_lost_before_the_next(n_skipped: int) -> None:
    ring = RingBuffer(16, 1)
    ring.write(numbered(0, 4))
    ring.skip(n_skipped)
    ring.write(numbered(4 + n_skipped, 3))
    first, second = ring.read(100), ring.read(100)
    if n_skipped == 100:  # longer than the ring: the frames before it were overwritten unread
        assert second is None
        assert first is not None
        assert (first.first_frame, first.n_lost_before) == (104, 104)
        assert_true_to_its_number(first)
        return
    assert first is not None
    assert second is not None
    assert (first.first_frame, len(first.samples)) == (0, 4)
    assert (second.first_frame, second.n_lost_before, len(second.samples)) == (4 + n_skipped, n_skipped, 3)
    assert_true_to_its_number(second)
    assert ring.n_written == 7 + n_skipped


def test_frames_that_are_not_numbers_in_any_channel_count_as_lost() -> None:
    ring = RingBuffer(8, 2)
    frames = numbered(0, 5, 2)
    frames[2, 1] = np.nan
    ring.write(frames)
    first, second = ring.read(100), ring.read(100)
    assert first is not None
    assert second is not None
    assert (first.first_frame, len(first.samples)) == (0, 2)
    assert (second.first_frame, second.n_lost_before, len(second.samples)) == (3, 1, 2)


@settings(deadline=None)
@given(
    deeds=st.lists(
        st.tuples(st.sampled_from(["write", "skip", "read"]), st.integers(1, 7)), min_size=1, max_size=60
    )
)
def test_every_frame_is_heard_once_in_order_or_told_as_lost(deeds: list[tuple[str, int]]) -> None:
    ring = RingBuffer(7, 1)
    n_written = n_known = 0
    for deed, n_frames in deeds:
        if deed == "write":
            ring.write(numbered(n_written, n_frames))
            n_written += n_frames
        elif deed == "skip":
            ring.skip(n_frames)
            n_written += n_frames
        elif stretch := ring.read(n_frames):
            assert stretch.first_frame == n_known + stretch.n_lost_before
            assert_true_to_its_number(stretch)
            n_known = stretch.first_frame + len(stretch.samples)
    assert n_known <= n_written == ring.n_written


class Interrupted(np.ndarray[Any, Any]):
    """An array that lets something else happen just as it is read: the other thread, at the worst moment."""

    meanwhile: Callable[[], None]

    def __getitem__(self, place: Any) -> Any:
        # The other thread's deed reads arrays of its own: it must not call itself.
        if (meanwhile := self.__dict__.pop("meanwhile", None)) is not None:
            meanwhile()
            self.meanwhile = meanwhile
        return np.asarray(self)[place]


def test_reader_that_cuts_in_while_a_block_is_written_gets_no_half_written_frame() -> None:
    ring = RingBuffer(8, 1)
    ring.write(numbered(0, 6))
    heard: list[Stretch] = []

    def read() -> None:
        if stretch := ring.read(100):
            heard.append(stretch)

    # Frames 6 to 11 run over the ring's end and overwrite 0 to 3: the reader cuts in before each half's copy.
    block = numbered(6, 6).view(Interrupted)
    block.meanwhile = read
    ring.write(block)
    read()
    for stretch in heard:
        assert_true_to_its_number(stretch)
    assert [(s.first_frame, len(s.samples), s.n_lost_before) for s in heard] == [(4, 2, 4), (6, 6, 0)]


def test_writer_that_cuts_in_while_a_stretch_is_read_spoils_none_of_what_is_given_out() -> None:
    ring = RingBuffer(8, 1)
    ring.write(numbered(0, 8))

    def write() -> None:
        ring._slots.__dict__.pop("meanwhile", None)
        ring.write(numbered(ring.n_written, 3))

    slots = ring._slots.view(Interrupted)
    slots.meanwhile = write
    ring._slots = slots
    stretch = ring.read(100)
    assert stretch is not None
    # Each of the reader's two looks into the ring let three frames overwrite the oldest ones.
    n_overwritten = ring.n_written - 8
    assert n_overwritten >= 3
    assert (stretch.first_frame, stretch.n_lost_before) == (n_overwritten, n_overwritten)
    assert_true_to_its_number(stretch)
    ring._slots.__dict__.pop("meanwhile", None)
    rest = ring.read(100)
    assert rest is not None
    assert (rest.first_frame, rest.n_lost_before) == (8, 0)
    assert_true_to_its_number(rest)
