"""The house holds together: what is installed, what is loaded, what the documents promise."""

import re
import subprocess
import sys
import zipfile
from functools import cache
from importlib.metadata import version
from pathlib import Path

import pytest

import tensionear
from tensionear.cli import COMMANDS

ROOT = Path(__file__).parents[1]
DOCUMENTS = sorted([*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md")])
HEAVY = ["scipy", "matplotlib", "sounddevice", "soundfile", "av", "numpy", "PySide6"]


def run_python(*arguments: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run([sys.executable, *arguments], capture_output=True, text=True, cwd=ROOT)


@cache
def help_of(command: str) -> str:
    answer = run_python("-m", "tensionear", *command.split(), "--help")
    assert answer.returncode == 0, answer.stderr
    return answer.stdout


def test_help_answers_without_loading_what_is_slow_or_may_be_missing() -> None:
    program = f"""
import sys
from tensionear.cli import main
try:
    main(["--help"])
finally:
    print("loaded:", [name for name in {HEAVY} if name in sys.modules])
"""
    answer = run_python("-c", program)
    assert answer.returncode == 0, answer.stderr
    assert "Usage: tensionear" in answer.stdout
    assert "loaded: []" in answer.stdout


@pytest.mark.parametrize("start", [["-m", "tensionear"], ["-c", "from tensionear.cli import main; main()"]])
def test_the_version_is_the_same_wherever_it_is_told(start: list[str]) -> None:
    answer = run_python(*start, "--version")
    assert answer.stdout.split()[-1] == tensionear.__version__ == version("tensionear")
    assert f"## [{tensionear.__version__}]" in (ROOT / "CHANGELOG.md").read_text("utf-8")


def test_the_wheel_holds_every_module_what_lies_beside_them_and_the_command(tmp_path: Path) -> None:
    built = run_python("-m", "build", "--wheel", "--no-isolation", "--outdir", str(tmp_path))
    assert built.returncode == 0, built.stdout + built.stderr
    (wheel,) = tmp_path.glob("tensionear-*.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
        (entry_points,) = [archive.read(name).decode() for name in names if name.endswith("entry_points.txt")]
    modules = {path.relative_to(ROOT).as_posix() for path in ROOT.glob("tensionear/**/*.py")}
    beside = {"tensionear/py.typed", "tensionear/cli/outline.json"}
    assert {name for name in names if ".dist-info/" not in name} == {*modules, *beside}
    assert "tensionear = tensionear.__main__:main" in entry_points


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_a_help(command: str) -> None:
    assert help_of(command).startswith(f"Usage: tensionear {command}")


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_documents_name_only_commands_options_and_files_that_exist(document: Path) -> None:
    text = document.read_text("utf-8")
    code = re.findall(r"`([^`\n]+)`", text) + re.findall(r"^(?: {4}|\t)(.+)$", text, re.M)
    code += [
        line for block in re.findall(r"^```\w*\n(.*?)^```", text, re.M | re.S) for line in block.splitlines()
    ]
    for line in code:
        for command, options in re.findall(r"\btensionear ([a-z]+)([^|#`]*)", line):
            assert command in COMMANDS, line
            known = help_of(command)
            if "\nCommands:\n" in known and re.match(r" [a-z]", options):  # of a group, the command within it
                command = f"{command} {options.split()[0]}"
                known = help_of(command)
            for option in re.findall(r"(?<!\S)--[a-z-]+", options):
                assert re.search(rf"{option}\b", known), f"tensionear {command} has no {option}: {line}"
        for job in re.findall(r"\bdev\.py ([a-z]+)", line):
            assert job in {"demo", "test", "fix"}, line
        for path in re.findall(
            r"(?<![\w./-])(?:tensionear|tests|docs|benchmarks|recordings_demo)/[\w./-]+", line
        ):
            assert (ROOT / path).exists(), line


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_links_between_documents_lead_somewhere(document: Path) -> None:
    links = re.findall(r"\]\(([^)#:\s]+)(?:#[^)]*)?\)", document.read_text("utf-8"))
    assert [link for link in links if not (document.parent / link).exists()] == []
