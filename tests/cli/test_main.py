"""What holds for every command: quick help, bugs, closed outputs."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import click
import pytest

from tensionear.cli import COMMANDS, commands
from tensionear.errors import (
    ArchiveError,
    BundleError,
    DeviceError,
    InputError,
    RecordingError,
    TensionearError,
)
from tests.cli.command import Tensionear
from tests.closed_output import assert_ends_quietly_when_nobody_listens

ROOT = Path(__file__).parents[2]
HEAVY = ("numpy", "scipy", "matplotlib", "sounddevice", "soundfile", "av", "platformdirs")


def test_help_imports_nothing_heavy() -> None:
    told = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "tensionear", "--help"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    imported = {line.rpartition("|")[2].strip() for line in told.stderr.splitlines()}
    assert "tensionear.cli" in imported
    assert not imported & set(HEAVY)
    assert "Exit codes:" in told.stdout


@pytest.mark.parametrize("name", COMMANDS)
def test_the_short_help_of_a_command_is_its_own(name: str) -> None:
    command = commands.get_command(click.Context(commands), name)
    assert command is not None
    assert command.help is not None
    assert command.help.splitlines()[0] == COMMANDS[name]


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_has_help(name: str, tensionear: Tensionear) -> None:
    told = tensionear(name, "--help")
    assert told.code == 0
    assert COMMANDS[name].removesuffix(".") in " ".join(told.out.split())
    assert "\\b" not in told.out


@pytest.mark.parametrize("arguments", [(), ("read",), ("listen",)])
def test_the_example_in_a_help_can_be_copied(arguments: tuple[str, ...], tensionear: Tensionear) -> None:
    told = tensionear(*arguments, "--help")
    (example,) = re.findall(r"^ *Example:\n *(tensionear .*)$", told.out, re.MULTILINE)
    words = shlex.split(example)
    assert words[-8:-3] == ["213", "--linear-density-g-per-m", "165", "--band-hz", "110"]
    named = tensionear(words[1], "--help").out
    assert all(word in named for word in words if word.startswith("--"))


def test_a_bug_goes_to_a_log_whose_path_is_told(
    three_plucks: Path, tmp_path: Path, tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("a bug planted by the test")

    monkeypatch.setattr("platformdirs.user_log_path", lambda *_, **__: tmp_path)
    monkeypatch.setattr("tensionear.reading.read_pluck", broken)
    told = tensionear("read", three_plucks)
    assert told.code == 1
    assert "Traceback" not in told.err
    assert f"{tmp_path / 'tensionear.log'} says more" in told.err
    assert "ZeroDivisionError: a bug planted by the test" in (tmp_path / "tensionear.log").read_text("utf-8")


def test_a_bug_without_a_place_for_the_log_is_told_all_the_same(
    three_plucks: Path, tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise PermissionError("no writing here")

    monkeypatch.setattr("platformdirs.user_log_path", broken)
    monkeypatch.setattr("tensionear.reading.read_pluck", broken)
    told = tensionear("read", three_plucks)
    assert told.code == 1
    assert "no log could be written (no writing here)" in told.err


def test_a_closed_output_ends_quietly(three_plucks: Path) -> None:
    assert_ends_quietly_when_nobody_listens("read", str(three_plucks), "--json")


def test_a_terminal_without_the_sign_still_gets_the_reading(three_plucks: Path) -> None:
    told = subprocess.run(
        [sys.executable, "-m", "tensionear", "read", str(three_plucks)],
        cwd=ROOT, capture_output=True, text=True, check=True, env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert "110." in told.stdout


def test_version(tensionear: Tensionear) -> None:
    assert tensionear("--version").out.startswith("tensionear, version ")


def test_cautions_are_told_in_full(tensionear: Tensionear) -> None:
    told = tensionear("cautions")
    assert told.code == 0
    assert "by hand" in told.out


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (TensionearError("planted by the test"), 2),
        (InputError("planted by the test"), 2),
        (RecordingError("planted by the test"), 2),
        (DeviceError("planted by the test"), 4),
        (ArchiveError("planted by the test"), 5),
        (BundleError("planted by the test"), 6),
    ],
)
def test_each_kind_of_trouble_ends_with_the_exit_code_that_the_help_documents(
    error: TensionearError, code: int, tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("tensionear.cli.cautions.command.callback", broken)
    told = tensionear("cautions")
    assert told.code == code
    assert "planted by the test" in told.err
    assert re.search(rf"^ +{code} +\w", tensionear("--help").out, re.MULTILINE)
