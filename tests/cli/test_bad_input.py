"""What is given wrongly: the message says what and how to mend it; the exit code is the documented one."""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from tests.cli.command import Tensionear
from tests.plain_pluck import RATE_HZ, plucks

ROOT = Path(__file__).parents[2]
FORCE = ("--band-n", "380", "460", "--method", "force", "--source", "p. 1")
SPAN = ("--span-length-mm", "213", "--linear-density-g-per-m", "165")


def recorded(folder: Path, sound: NDArray[np.floating]) -> Path:
    path = folder / "sound.wav"
    soundfile.write(path, sound, RATE_HZ, subtype="FLOAT")
    return path


def tone(hz: float, ring_time_s: float | None = None) -> NDArray[np.float64]:
    """A tone that begins after 1.5 s over faint noise: steady, or ringing down like a string's."""
    time_s = np.arange(-1.5 * RATE_HZ, 3.0 * RATE_HZ) / RATE_HZ
    level = 0.3 * (time_s >= 0.0)
    if ring_time_s is not None:
        level = level * np.exp(-np.maximum(time_s, 0.0) / ring_time_s)
    noise = 2e-4 * np.random.default_rng(3).standard_normal(len(time_s))
    return level * np.sin(2.0 * np.pi * hz * time_s) + noise


def empty(folder: Path) -> Path:
    (folder / "sound.wav").touch()
    return folder / "sound.wav"


def text(folder: Path) -> Path:
    (folder / "sound.wav").write_text("pluck the belt, then read it\n" * 50)
    return folder / "sound.wav"


def truncated_flac(folder: Path) -> Path:
    path = folder / "sound.flac"
    soundfile.write(path, plucks([110.0, 110.0]), RATE_HZ)
    whole = path.read_bytes()
    path.write_bytes(whole[: int(0.7 * len(whole))])
    return path


def nan_after_a_pluck(folder: Path) -> Path:
    sound = plucks([110.0, 110.0])
    sound[int(3.2 * RATE_HZ)] = np.nan
    return recorded(folder, sound)


FILES: dict[str, tuple[Callable[[Path], Path], int, str]] = {
    "empty file": (
        empty,
        2,
        r"sound\.wav is empty \(0 bytes\): was the recording stopped or copied properly\?",
    ),
    "text named .wav": (text, 2, r"sound\.wav cannot be read as sound: is it a recording, and was it copied"),
    "missing file": (
        lambda folder: folder / "gone.wav",
        2,
        r"no file .*gone\.wav: is the name spelt right\?",
    ),
    "folder": (lambda folder: folder, 2, r"is a folder: give the files in it"),
    "no samples": (lambda folder: recorded(folder, np.zeros(0)), 2, r"holds no sound \(0 samples\): was the"),
    "NaN samples": (
        lambda folder: recorded(folder, np.full(RATE_HZ, np.nan)),
        2,
        r"holds a sample that is not a number \(nan\), at 0\.00 s: is the file damaged",
    ),
    "one sample": (lambda folder: recorded(folder, np.zeros(1)), 3, r"no pluck was heard"),
    "silence": (lambda folder: recorded(folder, np.zeros(5 * RATE_HZ)), 3, r"no pluck was heard"),
    "3 Hz decaying": (lambda folder: recorded(folder, tone(3.0, 0.5)), 3, r"No reading"),
    "3 Hz steady": (lambda folder: recorded(folder, tone(3.0)), 3, r"No reading"),
    "5 kHz decaying": (lambda folder: recorded(folder, tone(5000.0, 0.2)), 3, r"No reading"),
    "5 kHz steady": (lambda folder: recorded(folder, tone(5000.0)), 3, r"No reading"),
}


@pytest.mark.parametrize(("make", "code", "message"), FILES.values(), ids=FILES.keys())
def test_a_file_without_a_pluck_is_told(
    make: Callable[[Path], Path], code: int, message: str, tmp_path: Path, tensionear: Tensionear
) -> None:
    told = tensionear("read", make(tmp_path))
    assert re.search(message, told.out + told.err)
    assert told.code == code
    if code == 2:
        assert told.err.startswith("tensionear: ")


# In the cut FLAC the second pluck, at 3.5 s, is whole: it has to be read as well, though no silence follows it.
@pytest.mark.parametrize(("make", "n_whole"), [(truncated_flac, 2), (nan_after_a_pluck, 1)])
def test_what_comes_before_the_damage_is_read_and_the_damage_told(
    make: Callable[[Path], Path], n_whole: int, tmp_path: Path, tensionear: Tensionear
) -> None:
    told = tensionear("read", make(tmp_path), "--json")
    assert told.code == 2
    readings = told.of_kind("pluck")
    assert [line["outcome"] for line in readings] == ["reading"] * n_whole
    assert [line["fundamental_hz"] for line in readings] == pytest.approx([110.0] * n_whole, rel=0.005)
    (error,) = told.of_kind("error")
    assert re.search(r"damaged", error["message"])
    assert (error["source"], error["path"]) == (make(tmp_path).name, str(make(tmp_path)))
    assert told.of_kind("set")[0]["n_readings"] == n_whole


@pytest.mark.skipif(sys.platform == "win32", reason="permissions are another matter there")
def test_a_file_that_may_not_be_read_is_told(tmp_path: Path) -> None:
    path = recorded(tmp_path, plucks([110.0]))
    path.chmod(0)
    command = [sys.executable, "-m", "tensionear", "read", str(path)]
    if os.geteuid() == 0:  # the superuser may read everything, unless it gives that right up
        if shutil.which("setpriv") is None:
            pytest.skip("runs as the superuser and there is no setpriv to become less")
        command = ["setpriv", "--bounding-set", "-dac_override,-dac_read_search", *command]
    told = subprocess.run(command, capture_output=True, text=True, check=False, cwd=ROOT)
    assert re.search(r"sound\.wav may not be read: ask its owner for permission", told.stderr)
    assert told.returncode == 2


def test_the_readable_among_several_files_are_read(
    tmp_path: Path, three_plucks: Path, tensionear: Tensionear
) -> None:
    told = tensionear("read", tmp_path / "gone.wav", three_plucks, "--json")
    assert told.code == 2
    assert len(told.of_kind("pluck")) == 3
    assert told.of_kind("set")[0]["n_readings"] == 3


VALUES: dict[str, tuple[tuple[str, ...], str]] = {
    "length of zero": (("--span-length-mm", "0"), r"span length 0 mm must be above 0 mm"),
    "negative length": (("--span-length-mm", "-213"), r"span length -213 mm is negative"),
    "length in metres": (
        ("--span-length-mm", "0.213"),
        r"0\.213 mm is shorter than 40 mm: was it entered in metres\?",
    ),
    "absurd length": (("--span-length-mm", "213000"), r"213000 mm is longer than 5000 mm"),
    "no number": (("--span-length-mm", "long"), r"'long' is not a number"),
    "decimal comma": (
        ("--span-length-mm", "21,3"),
        r"'21,3' is not a number: write the decimals with a point",
    ),
    "length NaN": (("--span-length-mm", "nan"), r"span length nan mm is not a finite number"),
    "density of zero": (("--linear-density-g-per-m", "0"), r"linear density 0 g/m must be above 0 g/m"),
    "negative density": (("--linear-density-g-per-m", "-165"), r"linear density -165 g/m is negative"),
    "density in kilograms": (
        ("--linear-density-g-per-m", "0.165"),
        r"0\.165 g/m is lighter than 10 g/m: was it entered in kilograms per metre\?",
    ),
    "absurd density": (
        ("--linear-density-g-per-m", "1e9"),
        r"linear density 1e\+09 g/m is heavier than 5000 g/m",
    ),
    "negative half-width": (
        (*SPAN, "--span-length-within-mm", "-1"),
        r"--span-length-within-mm -1 is not 0 or more",
    ),
    "half-width too wide": (
        (*SPAN, "--linear-density-within-percent", "60"),
        r"--linear-density-within-percent 60 % does not lie from 0 to 30 %",
    ),
    "band upside down": ((*SPAN, "--band-n", "460", "380"), r"is the band upside down\?"),
    "band without width": ((*SPAN, "--band-n", "380", "380"), r"was the same limit entered twice\?"),
    "band in newtons alone": (FORCE, r"add the span length and the linear density"),
    "band with length alone": (("--span-length-mm", "213", *FORCE), r"add .*the linear density"),
    "two bands": ((*SPAN, *FORCE, "--band-hz", "100", "120"), r"the band is given in two units"),
    "band without source": (("--band-hz", "100", "120"), r"--source is missing"),
    "band in newtons without method": (
        (*SPAN, "--band-n", "380", "460", "--source", "p. 1"),
        r"--method is missing",
    ),
    "force of a flexible formula": (
        (*SPAN, "--flexible", "--bending-stiffness-n-m2", "0.03"),
        r"--flexible and a bending stiffness are both given",
    ),
    "probability as a share": (("--asked-probability", "0.95"), r"was it entered as a share\?"),
    "specification and baseline": (
        (*FORCE, *SPAN, "--baseline-hz", "110", "--baseline-percent", "3", "--baseline-job", "17"),
        r"a specification and a baseline of your own are both given",
    ),
    "no such calibration": (
        (*SPAN, "--calibration", "gone.json"),
        r"calibration file gone\.json: it cannot be read",
    ),
    "half a band": ((*SPAN, "--band-n", "380"), r"Invalid value for '--band-n'"),
    "absurd band": (("--band-hz", "1", "2"), r"band limit 1 Hz is less than 20 Hz"),
    "picture of no kind": (("--picture", "out.doc"), r"out\.doc does not end in \.png or \.pdf or \.svg"),
    "picture nowhere": (("--picture", "no/where/out.png"), r"there is no folder no/where"),
    "unknown option": (("--frequency",), r"No such option.*--frequency"),
}


@pytest.mark.parametrize("command", ["read", "listen"])
@pytest.mark.parametrize(("arguments", "message"), VALUES.values(), ids=VALUES.keys())
def test_a_value_outside_its_limits_is_told_before_anything_is_read(
    command: str, arguments: tuple[str, ...], message: str, tensionear: Tensionear, three_plucks: Path
) -> None:
    files = [three_plucks] if command == "read" else []
    told = tensionear(command, *files, *arguments, "--json")
    assert re.search(message, told.err)
    assert told.code == 2
    (error,) = told.lines
    assert (error["kind"], error["path"]) == ("error", None)
    assert error["message"] in told.err


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("read",), r"Missing argument 'FILE\.\.\.'"),
        (("hear",), r"No such command 'hear'"),
        (("listen", "--plucks", "0"), r"0 is not in the range x>=1"),
        (("listen", "--seconds", "-1"), r"-1.* is not in the range x>0"),
    ],
)
def test_wrong_usage_is_told_with_2(arguments: tuple[str, ...], message: str, tensionear: Tensionear) -> None:
    told = tensionear(*arguments)
    assert re.search(message, told.err)
    assert told.code == 2


class OneInput:
    """What `sounddevice` says on a machine with a single input."""

    PortAudioError = OSError

    def query_devices(self, kind: str | None = None) -> Any:
        front = {
            "name": "front microphone", "index": 0, "hostapi": 0, "max_input_channels": 1,
            "default_samplerate": 48000.0,
        }  # fmt: skip
        return [front] if kind is None else front

    def query_hostapis(self) -> Any:
        return [{"name": "invented system"}]


class NoInput(OneInput):
    """What `sounddevice` says on a machine without one."""

    def query_devices(self, kind: str | None = None) -> Any:
        if kind is not None:
            raise self.PortAudioError("no default input")
        return []


@pytest.mark.parametrize("command", [["listen"], ["devices", "--check"]])
@pytest.mark.parametrize(
    ("device", "message"), [("rear", r'no input called "rear"'), ("9999", r"no input number 9999")]
)
def test_a_device_that_is_not_there_is_told_with_those_that_are(
    command: list[str], device: str, message: str, tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tensionear.sound.microphone.load_portaudio", OneInput)
    told = tensionear(*command, "--device", device)
    assert re.search(rf"{message}; there are: 0 front microphone \(invented system\)", told.err)
    assert told.code == 2


@pytest.mark.parametrize("command", [["listen"], ["devices"], ["devices", "--check"]])
def test_a_machine_without_a_microphone_is_told(
    command: list[str], tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tensionear.sound.microphone.load_portaudio", NoInput)
    monkeypatch.setattr("tensionear.sound.devices.load_portaudio", NoInput)
    told = tensionear(*command, "--json")
    assert "this machine has no microphone" in told.err
    assert [line["kind"] for line in told.lines] == ["error"]
    assert told.code == 4
