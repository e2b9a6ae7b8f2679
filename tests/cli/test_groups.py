"""Groups of commands: their help is quick, and says of each command what the command says of itself."""

import subprocess
import sys
from pathlib import Path

import click
import pytest

from tensionear.cli import job, setup
from tensionear.job.archive.opening import open_archive
from tests.cli.command import Tensionear

ROOT = Path(__file__).parents[2]
GROUPS = {"setup": setup, "job": job}
COMMANDS = [(group, name) for group, module in GROUPS.items() for name in module.SUMMARIES]


@pytest.mark.parametrize("group", GROUPS)
def test_the_help_of_a_group_imports_nothing_heavy(group: str) -> None:
    told = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "tensionear", group, "--help"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    imported = {line.rpartition("|")[2].strip() for line in told.stderr.splitlines()}
    assert "tensionear.cli.lazy_group" in imported
    assert "Commands:" in told.stdout
    assert not imported & {"sqlalchemy", "scipy", "numpy", "pydantic", "alembic", "soundfile", "sounddevice"}


def test_looking_at_jobs_loads_no_part_of_scipy_or_reader_of_sound_that_it_does_not_need(
    tmp_path: Path,
) -> None:
    archive = str(tmp_path / "a.sqlite")
    with open_archive(archive):
        pass
    told = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "tensionear", "job", "list", "--archive", archive],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    imported = {line.rpartition("|")[2].strip() for line in told.stderr.splitlines()}
    assert "tensionear.job.archive.jobs" in imported
    assert not imported & {"scipy.signal", "scipy.stats", "scipy.optimize", "scipy.linalg", "scipy.sparse"}
    assert not imported & {
        "matplotlib",
        "alembic",
        "reportlab",
        "cryptography",
        "av",
        "soundfile",
        "sounddevice",
    }


@pytest.mark.parametrize(("group", "name"), COMMANDS)
def test_the_short_help_of_a_command_is_its_own(group: str, name: str) -> None:
    of_the_group = GROUPS[group].command
    assert isinstance(of_the_group, click.Group)
    command = of_the_group.get_command(click.Context(of_the_group), name)
    assert command is not None
    assert command.help is not None
    short = GROUPS[group].SUMMARIES[name]
    assert command.help.splitlines()[0].startswith(short.removesuffix("."))
    assert command.name == name


@pytest.mark.parametrize(("group", "name"), COMMANDS)
def test_every_command_takes_an_archive_and_tells_programs(
    group: str, name: str, tensionear: Tensionear
) -> None:
    told = tensionear(group, name, "--help")
    assert told.code == 0
    assert "--archive PATH|URL" in told.out
    assert "--json" in told.out


@pytest.mark.parametrize("group", GROUPS)
def test_a_group_alone_asks_for_help(group: str, tensionear: Tensionear) -> None:
    assert tensionear(group).out == tensionear(group, "--help").out


def test_a_command_that_is_not_there_is_told(tensionear: Tensionear) -> None:
    told = tensionear("job", "begin")
    assert told.code == 2
    assert "No such command 'begin'" in told.err
