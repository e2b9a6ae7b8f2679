"""Inputs: listed as they are, and found by number, name or part of a name."""

import builtins
import subprocess
import sys
from typing import Any

import pytest

from tensionear.errors import DeviceError, InputError
from tensionear.sound.devices import InputDevice, find_input, list_inputs, load_portaudio
from tests.sound.scripted_portaudio import ScriptedPortAudio, an_input

SEVERAL = [
    {**an_input("Loudspeaker"), "max_input_channels": 0},
    an_input("Built-in microphone", channels=2, rate_hz=44_100.0),
    an_input("USB microphone A"),
    an_input("USB microphone B"),
    an_input("Built-in microphone", host_api=1),
]


def several(default_number: int = 2) -> ScriptedPortAudio:
    return ScriptedPortAudio(
        devices=SEVERAL, host_apis=("Old sound", "New sound"), default_number=default_number
    )


def test_list_holds_inputs_only_and_marks_the_default() -> None:
    assert list_inputs(several()) == (
        InputDevice(1, "Built-in microphone", "Old sound", 2, 44_100.0, False),
        InputDevice(2, "USB microphone A", "Old sound", 1, 48_000.0, True),
        InputDevice(3, "USB microphone B", "Old sound", 1, 48_000.0, False),
        InputDevice(4, "Built-in microphone", "New sound", 1, 48_000.0, False),
    )


def test_machine_without_default_input_lists_all_the_same() -> None:
    assert [known.is_default for known in list_inputs(several(default_number=-1))] == [False] * 4


@pytest.mark.parametrize(
    ("device", "default_number", "number"),
    [
        (None, 3, 3),
        (None, -1, 1),
        (3, 2, 3),
        ("USB microphone B", 2, 3),
        ("usb MICROPHONE b", 2, 3),
        ("phone a", 2, 2),
        (" B ", 2, None),
        ("built-in microphone", 2, 1),
        ("built-in microphone", 4, 4),
    ],
)
def test_input_is_found_by_number_name_or_part(
    device: int | str | None, default_number: int, number: int | None
) -> None:
    if number is None:
        with pytest.raises(InputError, match="several inputs"):
            find_input(device, several(default_number))
    else:
        assert find_input(device, several(default_number)).number == number


@pytest.mark.parametrize(
    ("device", "message"),
    [
        (
            0,
            r"there is no input number 0; there are: 1 Built-in microphone \(Old sound\), 2 USB microphone A",
        ),
        (17, r"there is no input number 17; there are: 1 Built-in"),
        (-1, r"there is no input number -1; there are: 1 Built-in"),
        (
            "trumpet",
            r'there is no input called "trumpet"; there are: 1 Built-in .* 4 Built-in.*\(New sound\)$',
        ),
        ("", r'there is no input called ""; there are'),
        (
            "usb",
            r'several inputs are called something like "usb": 2 USB microphone A \(Old sound\), '
            r"3 USB microphone B \(Old sound\); give the number",
        ),
    ],
)
def test_input_that_is_none_or_several_is_refused_with_the_list(device: int | str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        find_input(device, several())


def test_machine_without_inputs_is_told_what_to_do() -> None:
    with pytest.raises(DeviceError, match="this machine has no microphone or other input: plug one in"):
        find_input(None, ScriptedPortAudio(devices=[SEVERAL[0]], default_number=-1))


def test_failing_list_is_a_device_error() -> None:
    with pytest.raises(DeviceError, match=r"the system's inputs cannot be listed \(Host error\)"):
        list_inputs(ScriptedPortAudio(refuses_to_list="Host error"))


@pytest.mark.parametrize(
    ("error", "message"),
    [
        (
            OSError("PortAudio library not found"),
            r"PortAudio library.*\(PortAudio library not found\): install it by: ",
        ),
        (
            RuntimeError("Error initializing PortAudio"),
            r"sound does not start \(Error initializing PortAudio\)",
        ),
    ],
)
def test_missing_or_broken_portaudio_is_told_with_its_remedy(
    monkeypatch: pytest.MonkeyPatch, error: Exception, message: str
) -> None:
    real_import = builtins.__import__

    def failing_import(name: str, *rest: Any, **more: Any) -> Any:
        if name == "sounddevice":
            raise error
        return real_import(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", failing_import)
    with pytest.raises(DeviceError, match=message):
        load_portaudio()


def test_sound_room_is_imported_without_portaudio() -> None:
    modules = "recording, devices, microphone, microphone_check"
    code = f"import sys; from tensionear.sound import {modules}; sys.exit('sounddevice' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False, timeout=60).returncode == 0
