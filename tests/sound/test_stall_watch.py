"""When does silence on the wire count as a stall."""

from tensionear.sound.stall_watch import StallWatch


def test_pause_of_more_than_two_seconds_is_a_stall() -> None:
    watch = StallWatch(10.0)
    assert watch.see(10.5, 480) is None
    assert watch.see(12.4, 480) is None
    assert watch.see(12.6, 480) == 12.6 - 10.5


def test_sound_that_goes_on_ends_a_pause() -> None:
    watch = StallWatch(0.0)
    assert all(watch.see(0.5 * step, 1 + step // 3) is None for step in range(100))


def test_first_sound_may_take_five_seconds() -> None:
    watch = StallWatch(10.0)
    assert watch.see(14.9, 0) is None
    assert watch.see(15.1, 0) == 15.1 - 10.0
