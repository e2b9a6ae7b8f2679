"""A microphone that works, loses sound, stalls, vanishes or lies about its rate, on a scripted clock."""

import threading
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tensionear.errors import DeviceError, InputError
from tensionear.sound.block import SoundBlock
from tensionear.sound.microphone import Microphone
from tests.sound.scripted_portaudio import Delivery, ScriptedPortAudio, an_input

RATE_HZ = 48_000


def numbered(first: int, n_frames: int, n_channels: int = 1) -> NDArray[np.float32]:
    """Frames whose samples say which frame they are."""
    return np.repeat(np.arange(first, first + n_frames, dtype=np.float32)[:, None], n_channels, axis=1)


class SteadyDevice:
    """Delivers numbered frames in step with the clock until `until_s`; then something else happens."""

    def __init__(self, true_hz: float = RATE_HZ, until_s: float = np.inf, then: Any = None) -> None:
        self.true_hz = true_hz
        self.until_s = until_s
        self.then = then
        self.elapsed_s = 0.0
        self.n_frames = 0

    def __call__(self, portaudio: ScriptedPortAudio, seconds: float) -> None:
        self.elapsed_s += seconds
        if self.elapsed_s > self.until_s + 0.01:
            if self.then is not None:
                then, self.then = self.then, None
                then(portaudio)
            return
        n_due = round(self.elapsed_s * self.true_hz)
        n_channels = portaudio.stream.settings["channels"]
        portaudio.stream.deliver(Delivery(numbered(self.n_frames, n_due - self.n_frames, n_channels)))
        self.n_frames = n_due


def microphone(portaudio: ScriptedPortAudio, device: int | str | None = None, **more: Any) -> Microphone:
    more.setdefault("has_moved", lambda _time_s: False)
    return Microphone(device, portaudio=portaudio, clock=portaudio.clock, pause=portaudio.pause, **more)


def hear(portaudio: ScriptedPortAudio, n_frames: int) -> list[SoundBlock]:
    """Listen until so many frames were heard."""
    blocks: list[SoundBlock] = []
    n_heard = 0
    with microphone(portaudio) as source:
        for block in source.blocks():
            blocks.append(block)
            n_heard += len(block.samples)
            if n_heard >= n_frames:
                break
    return blocks


def test_opens_the_default_input_at_its_own_rate_with_one_channel() -> None:
    portaudio = ScriptedPortAudio(devices=[an_input("Bench microphone", channels=2, rate_hz=44_100.0)])
    with microphone(portaudio) as source:
        assert (source.name, source.sample_rate_hz, source.n_channels) == ("Bench microphone", 44_100.0, 1)
        assert portaudio.stream.is_started
        assert portaudio.stream.settings["device"] == 0
        assert portaudio.stream.settings["dtype"] == "float32"
    assert portaudio.stream.n_closed == 1


def test_device_that_offers_no_single_channel_is_opened_with_all() -> None:
    portaudio = ScriptedPortAudio(devices=[an_input("Bench microphone", channels=4)], only_channels=4)
    portaudio.on_pause = SteadyDevice()
    blocks = hear(portaudio, 4800)
    assert {block.samples.shape[1] for block in blocks} == {4}


def test_sound_comes_whole_in_order_and_in_short_blocks() -> None:
    portaudio = ScriptedPortAudio(on_pause=SteadyDevice())
    blocks = hear(portaudio, 2 * RATE_HZ)
    sound = np.concatenate([block.samples for block in blocks])
    np.testing.assert_array_equal(sound, numbered(0, len(sound)))
    assert [block.first_frame for block in blocks] == [960 * number for number in range(len(blocks))]
    assert {block.n_lost_before for block in blocks} == {0}
    assert {len(block.samples) for block in blocks} == {960}  # 20 ms


def test_what_waits_after_a_pause_of_the_listener_comes_in_blocks_of_a_tenth_of_a_second() -> None:
    portaudio = ScriptedPortAudio(on_pause=SteadyDevice())
    with microphone(portaudio) as source:
        portaudio.pause(1.0)
        sound = source.blocks()
        assert [len(next(sound).samples) for _ in range(10)] == [4800] * 10


def test_listener_that_is_too_slow_is_told_what_it_lost() -> None:
    device = SteadyDevice()
    portaudio = ScriptedPortAudio(on_pause=device)
    with microphone(portaudio) as source:
        sound = source.blocks()
        first = next(sound)
        for _ in range(15):
            portaudio.pause(1.0)
        after = next(sound)
    assert after.n_lost_before == after.first_frame - len(first.samples)
    assert after.first_frame == device.n_frames - 10 * RATE_HZ  # the ring holds 10 s
    np.testing.assert_array_equal(after.samples, numbered(after.first_frame, len(after.samples)))


@pytest.mark.parametrize(
    ("adc_gap_s", "n_lost"),
    [
        (0.05, 2400),  # the converter's times tell
        (0.0, 1),  # they tell nothing: at least one
        (-3.0, 1),
        (1000.0, 1),  # they tell nonsense
    ],
)
def test_overflow_of_the_device_is_told_before_the_next_block(adc_gap_s: float, n_lost: int) -> None:
    portaudio = ScriptedPortAudio()
    with microphone(portaudio) as source:
        portaudio.stream.deliver(Delivery(numbered(0, 480), adc_time_s=7.0))
        portaudio.stream.deliver(Delivery(numbered(0, 480), overflow=True, adc_time_s=7.01 + adc_gap_s))
        sound = source.blocks()
        before, after = next(sound), next(sound)
    assert (before.first_frame, len(before.samples), before.n_lost_before) == (0, 480, 0)
    assert (after.first_frame, after.n_lost_before) == (480 + n_lost, n_lost)
    np.testing.assert_array_equal(after.samples, numbered(0, 480))


def test_overflow_at_the_very_beginning_is_told_as_well() -> None:
    portaudio = ScriptedPortAudio()
    with microphone(portaudio) as source:
        portaudio.stream.deliver(Delivery(numbered(0, 480), overflow=True))
        assert next(source.blocks()).n_lost_before == 1


def test_frequent_overflows_are_not_taken_for_a_false_rate() -> None:
    device = SteadyDevice()
    n_pauses = 0

    def lossy(portaudio: ScriptedPortAudio, seconds: float) -> None:
        nonlocal n_pauses
        n_pauses += 1
        if n_pauses % 100 == 0:  # every 2 s a tenth of a second is lost, and nobody knows how much
            device.elapsed_s -= 0.1
            portaudio.stream.deliver(Delivery(numbered(0, 1), overflow=True, adc_time_s=0.0))
        device(portaudio, seconds)

    blocks = hear(ScriptedPortAudio(on_pause=lossy), 40 * RATE_HZ)
    assert sum(block.n_lost_before for block in blocks) >= 19


def error_from(portaudio: ScriptedPortAudio, **more: Any) -> tuple[str, float, int]:
    """Listen until the microphone fails: what it says, after how many seconds, how many frames were heard."""
    began_s = portaudio.now_s
    heard: list[SoundBlock] = []
    with microphone(portaudio, **more) as source, pytest.raises(DeviceError, match="microphone") as caught:
        heard.extend(source.blocks())
    assert portaudio.stream.n_closed == 1
    return str(caught.value), portaudio.now_s - began_s, sum(len(block.samples) for block in heard)


def test_device_that_stalls_is_told_after_two_seconds() -> None:
    message, after_s, n_heard = error_from(ScriptedPortAudio(on_pause=SteadyDevice(until_s=4.0)))
    assert message.startswith(
        "microphone Bench microphone delivers no sound since 4.0 s (nothing came for 2.0 s)"
    )
    assert after_s == pytest.approx(6.0, abs=0.1)
    assert n_heard == 4 * RATE_HZ


def test_device_that_never_starts_is_told_after_five_seconds() -> None:
    message, after_s, _ = error_from(ScriptedPortAudio())
    assert message.startswith("microphone Bench microphone delivers no sound at all (nothing came for 5.0 s)")
    assert after_s == pytest.approx(5.0, abs=0.1)


def test_device_that_starts_late_is_waited_for() -> None:
    device = SteadyDevice()
    device.elapsed_s = -3.0

    def late(portaudio: ScriptedPortAudio, seconds: float) -> None:
        if device.elapsed_s + seconds < 0:
            device.elapsed_s += seconds
        else:
            device(portaudio, seconds)

    assert (
        sum(len(block.samples) for block in hear(ScriptedPortAudio(on_pause=late), 20 * RATE_HZ)) >= 960_000
    )


def test_device_that_vanishes_is_told_after_its_last_sound_was_yielded() -> None:
    device = SteadyDevice(until_s=3.0, then=lambda portaudio: portaudio.stream.end())
    message, after_s, n_heard = error_from(ScriptedPortAudio(on_pause=device))
    assert message.startswith("microphone Bench microphone has vanished after 3.0 s of sound")
    assert "was it unplugged?" in message
    assert after_s == pytest.approx(3.0, abs=0.1)
    assert n_heard == 3 * RATE_HZ


def test_recording_that_the_system_moves_to_another_input_is_told() -> None:
    portaudio = ScriptedPortAudio(on_pause=SteadyDevice())
    message, _, _ = error_from(portaudio, has_moved=lambda time_s: time_s > 103.0)
    assert "has vanished after 3.0 s of sound (the system's sound has gone over to another input)" in message


def test_device_that_claims_48000_and_delivers_44100_is_told_with_what_it_costs() -> None:
    message, after_s, _ = error_from(ScriptedPortAudio(on_pause=SteadyDevice(true_hz=44_100.0)))
    assert message.startswith(
        "microphone Bench microphone claims 48000 samples a second but delivers 44100, counted over 4 s: "
        "every frequency would come out 8.8 % too high and every tension 18.5 %"
    )
    assert after_s < 8.0


def test_device_that_runs_faster_than_it_claims_is_told_too() -> None:
    message, _, _ = error_from(ScriptedPortAudio(on_pause=SteadyDevice(true_hz=48_480.0)))
    assert "delivers 48480" in message
    assert "1.0 % too low and every tension 2.0 %" in message


def test_device_within_half_a_per_cent_is_heard_for_minutes() -> None:
    portaudio = ScriptedPortAudio(on_pause=SteadyDevice(true_hz=48_000.0 * 1.004))
    assert sum(len(block.samples) for block in hear(portaudio, 180 * RATE_HZ)) >= 180 * RATE_HZ


def test_close_ends_the_blocks_without_an_error() -> None:
    portaudio = ScriptedPortAudio()
    source = microphone(portaudio)
    portaudio.on_pause = SteadyDevice(until_s=1.0, then=lambda _portaudio: source.close())
    assert sum(len(block.samples) for block in source.blocks()) == RATE_HZ
    assert portaudio.stream.n_closed == 1


def test_close_from_another_thread_ends_the_blocks() -> None:
    portaudio = ScriptedPortAudio()
    with microphone(portaudio) as source:

        def close_elsewhere(_portaudio: ScriptedPortAudio) -> None:
            thread = threading.Thread(target=source.close)
            thread.start()
            thread.join(timeout=10.0)
            assert not thread.is_alive()

        portaudio.on_pause = SteadyDevice(until_s=1.0, then=close_elsewhere)
        assert sum(len(block.samples) for block in source.blocks()) == RATE_HZ


def test_close_is_done_once_however_often_it_is_asked_for() -> None:
    portaudio = ScriptedPortAudio()
    with microphone(portaudio) as source:
        source.close()
        source.close()
    assert list(source.blocks()) == []
    assert portaudio.stream.n_closed == 1


@pytest.mark.parametrize("when", ["refuses_to_open", "refuses_to_start"])
def test_device_that_cannot_be_opened_is_a_device_error_with_a_remedy(when: str) -> None:
    portaudio = ScriptedPortAudio()
    setattr(portaudio, when, "Device unavailable")
    message = r"Bench microphone cannot be opened \(Device unavailable\): does another program use it"
    with pytest.raises(DeviceError, match=message):
        microphone(portaudio)
    assert all(stream.n_closed == 1 for stream in portaudio.streams)


def test_unknown_device_is_an_input_error() -> None:
    with pytest.raises(
        InputError, match=r'there is no input called "trumpet"; there are: 0 Bench microphone'
    ):
        microphone(ScriptedPortAudio(), "trumpet")
