"""``tensionear devices``: which microphones there are, and whether one can hear a belt."""

import json
import textwrap

import click

from tensionear.cli.exit_code import ExitCode
from tensionear.cli.options import device_from, device_option, json_option
from tensionear.cli.trouble import tell_note
from tensionear.errors import DeviceError
from tensionear.sound.devices import InputDevice, list_inputs
from tensionear.sound.microphone import Microphone
from tensionear.sound.microphone_check import MicrophoneCheck, check_input

_CHECK_S = 2.0


@click.command()
@click.option(
    "--check", is_flag=True, help="Listen for two seconds and say whether the microphone can hear a belt."
)
@device_option
@json_option
def command(check: bool, device: str | None, as_json: bool) -> ExitCode:
    """List the microphones, or check one.

    The default microphone is marked with a star. With --check nobody should speak or work for two seconds:
    what is found is whether the microphone is alive, and whether it is overdriven or altered by the system so
    that it cannot hear a belt. If so, the exit code is 4.
    """
    if check:
        return _check(device, as_json)
    if device is not None:
        raise click.UsageError("--device chooses the microphone to check: add --check")
    inputs = list_inputs()
    for known in inputs:
        click.echo(json.dumps(_device_line(known)) if as_json else _device_row(known))
    if not inputs:
        raise DeviceError("this machine has no microphone or other input: plug one in, or allow its use")
    return ExitCode.DONE


def _check(device: str | None, as_json: bool) -> ExitCode:
    with Microphone(device_from(device)) as microphone:
        tell_note(f"Listening on {microphone.name} for {_CHECK_S:g} s. Keep quiet meanwhile.")
        check = check_input(microphone, _CHECK_S)
    for line in _check_lines(microphone.name, check) if as_json else _check_rows(check):
        click.echo(line)
    return ExitCode.MICROPHONE if check.is_faulty else ExitCode.DONE


def _device_row(known: InputDevice) -> str:
    mark = "*" if known.is_default else " "
    return f"{mark} {known.number:>3}  {known.name}  ({known.host_api}, {known.default_rate_hz:g} Hz)"


def _device_line(known: InputDevice) -> dict[str, object]:
    return {
        "kind": "device",
        "number": known.number,
        "name": known.name,
        "host_api": known.host_api,
        "n_channels": known.n_channels,
        "default_rate_hz": known.default_rate_hz,
        "is_default": known.is_default,
    }


def _check_rows(check: MicrophoneCheck) -> list[str]:
    rows = [
        textwrap.fill(
            f"{finding.aspect:<16}  {finding.judgement:<19}  {finding.sentence}",
            96,
            subsequent_indent=" " * 39,
        )
        for finding in check.findings
    ]
    return [*rows, "", "This microphone needs attention." if check.is_faulty else "Nothing bad was found."]


def _check_lines(name: str, check: MicrophoneCheck) -> list[str]:
    lines: list[dict[str, object]] = [
        {
            "kind": "finding",
            "source": name,
            "aspect": finding.aspect,
            "judgement": finding.judgement,
            "sentence": finding.sentence,
        }
        for finding in check.findings
    ]
    summary = {
        "kind": "check",
        "source": name,
        "is_faulty": check.is_faulty,
        "noise_floor_db": check.noise_floor_db,
        "hum_db": check.hum_db,
    }
    return [json.dumps(line, allow_nan=False) for line in [*lines, summary]]
