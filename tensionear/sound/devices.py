"""Which inputs there are, and which one a person means.

PortAudio is loaded here and nowhere else, and only when a microphone is asked for: without its library the
import fails, and reading files must not need it.
"""

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from types import ModuleType
from typing import Any

from tensionear.errors import DeviceError, InputError


@dataclass(frozen=True)
class InputDevice:
    """A microphone, or whatever else can be recorded from.

    Attributes
    ----------
    number : int
        PortAudio's number for it; it may change when devices come and go.
    name : str
        As the system calls it.
    host_api : str
        The part of the system's sound that offers it; the same microphone may be offered by several.
    n_channels : int
        The most channels that it records.
    default_rate_hz : float
        The rate that it prefers. [Hz]
    is_default : bool
        Whether the system records from it when nobody chooses.
    """

    number: int
    name: str
    host_api: str
    n_channels: int
    default_rate_hz: float
    is_default: bool


def load_portaudio() -> ModuleType:
    """Import `sounddevice`, which loads the PortAudio library.

    Raises
    ------
    DeviceError
        If the library is missing or does not start.
    """
    try:
        import sounddevice
    except (ImportError, OSError) as error:
        remedy = (
            "sudo apt install libportaudio2"
            if sys.platform == "linux"
            else "pip install --force-reinstall sounddevice"
        )
        raise DeviceError(
            f"microphones need the PortAudio library, which does not load ({error}): install it by: {remedy}"
        ) from error
    except Exception as error:
        # sounddevice starts PortAudio as it is imported; its error class cannot be named without that import.
        raise DeviceError(
            f"the system's sound does not start ({error}): does any program record here?"
        ) from error
    module: ModuleType = sounddevice
    return module


def list_inputs(portaudio: ModuleType | Any = None) -> tuple[InputDevice, ...]:
    """List everything that can be recorded from, in PortAudio's order.

    Parameters
    ----------
    portaudio : module, optional
        What offers `sounddevice`'s functions; without, `sounddevice`.

    Returns
    -------
    tuple of InputDevice
        Empty if there is no input.

    Raises
    ------
    DeviceError
        If PortAudio is missing or fails.
    """
    portaudio = portaudio or load_portaudio()
    try:
        devices: Sequence[dict[str, Any]] = portaudio.query_devices()
        host_apis: Sequence[dict[str, Any]] = portaudio.query_hostapis()
        default_number = _default_input(portaudio)
    except portaudio.PortAudioError as error:
        raise DeviceError(
            f"the system's inputs cannot be listed ({error}): does any program record here?"
        ) from error
    return tuple(
        InputDevice(
            number=number,
            name=str(device["name"]),
            host_api=str(host_apis[device["hostapi"]]["name"]),
            n_channels=int(device["max_input_channels"]),
            default_rate_hz=float(device["default_samplerate"]),
            is_default=number == default_number,
        )
        for number, device in enumerate(devices)
        if device["max_input_channels"] > 0
    )


def _default_input(portaudio: Any) -> int:
    """Find the default input; -1 if there is none."""
    try:
        return int(portaudio.query_devices(kind="input")["index"])
    except (portaudio.PortAudioError, ValueError):
        return -1


def find_input(device: int | str | None, portaudio: ModuleType | Any = None) -> InputDevice:
    """Find the input that a person means.

    Parameters
    ----------
    device : int, str or None
        Its number, its name, or a part of the name that no other input has; upper and lower case are the
        same. None is the system's default input. Of several inputs of exactly that name (one microphone
        offered in several ways) the default one is taken, else the first.
    portaudio : module, optional
        What offers `sounddevice`'s functions; without, `sounddevice`.

    Raises
    ------
    InputError
        If no input or more than one is meant.
    DeviceError
        If PortAudio is missing or fails, or the machine has no input at all.
    """
    inputs = list_inputs(portaudio)
    if not inputs:
        raise DeviceError(
            "this machine has no microphone or other input: plug one in, or allow its use in the system"
        )
    if device is None:
        return next((known for known in inputs if known.is_default), inputs[0])
    if isinstance(device, int):
        meant = [known for known in inputs if known.number == device]
    else:
        wanted = device.strip().casefold()
        exact = [known for known in inputs if known.name.casefold() == wanted]
        meant = sorted(exact, key=lambda known: not known.is_default)[:1] or [
            known for known in inputs if wanted and wanted in known.name.casefold()
        ]
    if len(meant) == 1:
        return meant[0]
    if meant:
        raise InputError(
            f'several inputs are called something like "{device}": {_listed(meant)}; give the number'
        )
    what = f"number {device}" if isinstance(device, int) else f'called "{device}"'
    raise InputError(f"there is no input {what}; there are: {_listed(inputs)}")


def _listed(inputs: Sequence[InputDevice]) -> str:
    return ", ".join(f"{known.number} {known.name} ({known.host_api})" for known in inputs)
