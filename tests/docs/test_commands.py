"""Every example of `docs/commands.md` tells what the page says it tells."""

import re
import shlex
import shutil
from pathlib import Path

import pytest

from tensionear.cli import archive, job, main, setup

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "commands.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```\n(\$ .*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
COMPUTING = {"calibrate", "span", "tension", "band"}
GROUPS = {"setup": setup.SUMMARIES, "job": job.SUMMARIES, "archive": archive.SUMMARIES}
RECORDINGS = DOCS.parent / "recordings_demo"
EXAMPLES = [
    tuple(example.split("\n", 1))
    for block in BLOCKS
    for example in re.split(r"\n\n(?=\$ )", block.removesuffix("\n"))
]


def test_the_page_has_examples_of_these_commands() -> None:
    assert {command.split()[2] for command, _ in EXAMPLES} == COMPUTING | {"setup", "job", "archive"}


@pytest.mark.parametrize(("group", "name"), [(group, name) for group in GROUPS for name in GROUPS[group]])
def test_every_command_of_a_group_is_on_the_page(group: str, name: str) -> None:
    assert f"`{group} {name}" in PAGE


def test_every_example_tells_what_the_page_says(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TENSIONEAR_ARCHIVE", str(tmp_path / "archive.sqlite"))
    monkeypatch.delenv("TENSIONEAR_BY", raising=False)
    shutil.copy(DOCS / "examples" / "invented-drive.toml", tmp_path / "drive.toml")
    for path in RECORDINGS.glob("*.flac"):
        shutil.copy(path, tmp_path)
    for command, told in EXAMPLES:
        with pytest.raises(SystemExit) as ended:
            main(shlex.split(command)[2:])
        assert ended.value.code == 0, command
        assert comparable(capsys.readouterr().out, command) == comparable(told, command), command


def comparable(told: str, command: str) -> str:
    """What is compared: of what was heard, or dated, everything but the digits, which hang on machine and day."""
    told = told.rstrip("\n")
    return told if command.split()[2] in COMPUTING else re.sub(r"\d", "#", told)


def test_every_name_of_a_drives_file_is_on_the_page() -> None:
    source = (DOCS.parent / "tensionear" / "drive_file.py").read_text(encoding="utf-8")
    asked = re.findall(r'\.(text|word|number|length|centre|taken)\("(\w+)"', source)
    names = {f"{name}_mm" if how in ("length", "centre") else name for how, name in asked}
    assert len(names) > 10
    assert names - {"pulleys"} <= set(re.findall(r"`(\w+)`", PAGE))
