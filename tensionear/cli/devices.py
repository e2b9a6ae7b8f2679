"""``tensionear devices``: which microphones there are, and whether one can hear a belt."""

from collections.abc import Iterator

import click

from tensionear.cli.exit_code import ExitCode
from tensionear.cli.json_lines import now, write_line
from tensionear.cli.layout import filled, width
from tensionear.cli.options import device_from, device_option, json_option
from tensionear.cli.trouble import tell_note
from tensionear.errors import DeviceError
from tensionear.sound.devices import InputDevice, list_inputs
from tensionear.sound.microphone import Microphone
from tensionear.sound.microphone_check import MicrophoneCheck, check_input

_CHECK_S = 2.0
_WIDE = 76


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
        if as_json:
            write_device(known)
        else:
            click.echo(_device_row(known))
    if not inputs:
        raise DeviceError("this machine has no microphone or other input: plug one in, or allow its use")
    return ExitCode.DONE


def _check(device: str | None, as_json: bool) -> ExitCode:
    with Microphone(device_from(device)) as microphone:
        tell_note(f"Listening on {microphone.name} for {_CHECK_S:g} s. Keep quiet meanwhile.")
        check = check_input(microphone, _CHECK_S)
    if as_json:
        write_check(microphone.name, check)
    else:
        for line in _check_rows(check):
            click.echo(line)
    return ExitCode.MICROPHONE if check.is_faulty else ExitCode.DONE


def _device_row(known: InputDevice) -> str:
    mark = "*" if known.is_default else " "
    return f"{mark} {known.number:>3}  {known.name}  ({known.host_api}, {known.default_rate_hz:g} Hz)"


def write_device(known: InputDevice) -> None:
    """Write the line of one microphone for programs."""
    write_line(
        "device",
        number=known.number,
        name=known.name,
        host_api=known.host_api,
        n_channels=known.n_channels,
        default_rate_hz=known.default_rate_hz,
        is_default=known.is_default,
    )


def _check_rows(check: MicrophoneCheck) -> Iterator[str]:
    for finding in check.findings:
        first = f"{finding.aspect:<16}  {finding.judgement:<19}  "
        # Where the sentence has too little room beside the judgement it goes below.
        if width() >= _WIDE:
            yield filled(finding.sentence, first, " " * len(first))
        else:
            yield f"{finding.aspect}: {finding.judgement}"
            yield filled(finding.sentence, "  ", "  ")
    yield ""
    yield "This microphone needs attention." if check.is_faulty else "Nothing bad was found."


def write_check(name: str, check: MicrophoneCheck) -> None:
    """Write the lines of a check for programs: each finding, then what they come to."""
    for finding in check.findings:
        write_line(
            "finding",
            source=name,
            aspect=finding.aspect,
            judgement=finding.judgement,
            sentence=finding.sentence,
        )
    write_line(
        "check",
        source=name,
        analysed_at=now(),
        is_faulty=check.is_faulty,
        noise_floor_db=check.noise_floor_db,
        hum_db=check.hum_db,
    )
