"""A shell completes commands, options, choices and files, and no command is imported for it."""

import os
import pty
import shutil
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.shell_completion import ShellComplete

from tensionear.cli import COMMANDS, commands
from tensionear.cli.outlined_group import OUTLINE
from tests.cli.command import Tensionear
from tests.cli.command_outline import outline_text
from tests.needs import need

ROOT = Path(__file__).parents[2]
HEAVY = {
    "numpy",
    "scipy",
    "matplotlib",
    "sounddevice",
    "soundfile",
    "av",
    "uncertainties",
    "sqlalchemy",
    "pydantic",
}


def offered(*words: str) -> list[str]:
    """What is offered for the last of some words."""
    completion = ShellComplete(commands, {}, "tensionear", "_TENSIONEAR_COMPLETE")
    return [item.value for item in completion.get_completions(list(words[:-1]), words[-1])]


def test_the_outline_is_that_of_the_commands() -> None:
    told = "the commands have changed: `python3 dev.py fix` draws up anew what is completed at the Tab key"
    assert OUTLINE.read_text("utf-8") == outline_text(), told


def test_all_commands_are_offered() -> None:
    assert offered("") == list(COMMANDS)
    assert offered("ca") == ["calibrate", "cautions"]


@pytest.mark.parametrize("name", COMMANDS)
def test_the_options_offered_are_those_of_the_help(name: str) -> None:
    command = commands.get_command(click.Context(commands), name)
    assert command is not None
    context = click.Context(command, info_name=name, parent=click.Context(commands))
    context.help_option_names = ["-h", "--help"]
    seen = [
        option
        for option in command.get_params(context)
        if isinstance(option, click.Option)
        if not option.hidden
    ]
    assert offered(name, "--") == [each for option in seen for each in option.opts if each.startswith("--")]


def test_choices_are_offered_also_behind_other_options() -> None:
    assert offered("read", "--span-length-mm", "213", "--ends", "") == ["clamped", "pinned", "unknown"]
    assert offered("completion", "") == ["bash", "zsh", "fish"]


def test_an_option_that_was_given_is_offered_again_only_if_it_may_be_repeated() -> None:
    assert "--ends" not in offered("tension", "--ends", "pinned", "--")
    assert "--hertz" in offered("tension", "--hertz", "121", "--")


def test_groups_within_groups_and_every_kind_of_parameter_are_offered_as_without_an_outline(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    inner = click.Command("inner", help="The inner one.", params=[
        click.Option(["--kind"], type=click.Choice(["one", "two"]), multiple=True, help="Which one."),
        click.Option(["--pair"], type=(int, int)),
        click.Option(["-l", "--loud"], count=True),
        click.Option(["--on/--off"], default=False),
        click.Option(["--hidden"], hidden=True),
        click.Option(["--folder"], type=click.Path(file_okay=False)),
        click.Argument(["which"], type=click.Choice(["left", "right"])),
        click.Argument(["files"], type=click.Path(), nargs=-1),
    ])  # fmt: skip
    unseen = click.Command("unseen", hidden=True)
    group = click.Group("tensionear", [click.Group("outer", [inner, unseen], help="The outer one.")])
    monkeypatch.setattr("tensionear.cli.outlined_group.OUTLINE", tmp_path / "outline.json")
    (tmp_path / "outline.json").write_text(outline_text(group), "utf-8")
    lines = [
        "",
        "--",
        "--kind ",
        "--kind one --",
        "--pair 1 ",
        "--pair 1 2 ",
        "-l --",
        "--folder ",
        "left ",
        "left a ",
    ]
    for line in ["outer ", *(f"outer inner {rest}" for rest in lines)]:
        *before, incomplete = line.split(" ")
        told = [
            [(item.value, item.type, item.help) for item in completion.get_completions(before, incomplete)]
            for completion in (
                ShellComplete(each, {"help_option_names": ["-h", "--help"]}, "tensionear", "_UNUSED")
                for each in (group, commands)
            )
        ]
        assert told[0] == told[1], line
        assert told[0] or line.endswith("--pair 1 "), line


def complete_with(shell: str, line: str, n_word: int) -> "subprocess.CompletedProcess[str]":
    asked = {"COMP_WORDS": line, "COMP_CWORD": str(n_word), "_TENSIONEAR_COMPLETE": f"{shell}_complete"}
    return subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "tensionear"],
        cwd=ROOT, capture_output=True, text=True, check=True, env={**os.environ, **asked},
    )  # fmt: skip


@pytest.mark.parametrize(
    ("line", "n_word", "told"),
    [
        ("tensionear li", 1, "plain,listen"),
        ("tensionear listen --span-length-w", 2, "plain,--span-length-within-mm"),
        ("tensionear listen --decision-rule ", 3, "plain,guarded"),
    ],
)
def test_nothing_heavy_and_no_command_is_imported_to_complete(line: str, n_word: int, told: str) -> None:
    answer = complete_with("bash", line, n_word)
    assert answer.stdout.splitlines()[0] == told
    imported = {line.rpartition("|")[2].strip() for line in answer.stderr.splitlines()}
    assert "tensionear.cli.outlined_group" in imported
    assert not imported & HEAVY
    assert "tensionear.cli.listen" not in imported


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_script_is_clicks_own(shell: str, tensionear: Tensionear) -> None:
    told = tensionear("completion", shell)
    assert told.code == 0
    assert f"_TENSIONEAR_COMPLETE={shell}_complete" in told.out


def test_another_shell_is_refused(tensionear: Tensionear) -> None:
    told = tensionear("completion", "csh")
    assert told.code == 2
    assert "'csh' is not one of 'bash', 'zsh', 'fish'" in told.err


@pytest.fixture
def environment(tmp_path: Path) -> dict[str, str]:
    """Where `tensionear` is this one, and a shell finds none of the user's own settings."""
    program = tmp_path / "bin" / "tensionear"
    program.parent.mkdir()
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m tensionear "$@"\n', "utf-8")
    program.chmod(0o755)
    return {
        **os.environ,
        "PATH": f"{program.parent}{os.pathsep}{os.environ['PATH']}",
        "PYTHONPATH": str(ROOT),
        "HOME": str(tmp_path),
        "TERM": "dumb",
    }


def test_bash_completes_at_the_tab_key(environment: dict[str, str], tmp_path: Path) -> None:
    need()
    (tmp_path / "a pluck.wav").touch()
    typed = (
        'eval "$(tensionear completion bash)"\n'
        # What is completed goes to a file, as what the terminal shows is hard to read.
        "tensionear() { printf '<%s>' \"$@\" >> told; echo >> told; }\n"
        "tensionear caut\t\n"
        "tensionear list\t--span-length-w\t 1 --decision-rule gua\t\n"
        "tensionear read a\t\n"
        "exit\n"
    )
    master, slave = pty.openpty()
    with subprocess.Popen(
        ["bash", "--norc", "--noprofile", "-i"],
        cwd=tmp_path, env=environment, stdin=slave, stdout=slave, stderr=slave, start_new_session=True,
    ) as shell:  # fmt: skip
        os.close(slave)
        os.write(master, typed.encode())
        shown = b""
        try:
            while piece := os.read(master, 4096):
                shown += piece
        except OSError:  # Linux's way to say that the other end is closed
            pass
        assert shell.wait(60) == 0, shown
    os.close(master)
    assert (tmp_path / "told").read_text("utf-8").splitlines() == [
        "<cautions>",
        "<listen><--span-length-within-mm><1><--decision-rule><guarded>",
        "<read><a pluck.wav>",
    ], shown.decode()


def test_fish_completes(environment: dict[str, str]) -> None:
    if shutil.which("fish") is None:
        pytest.skip("fish is not on this machine")
    asked = (
        "tensionear completion fish | source;"
        "complete -C 'tensionear caut'; complete -C 'tensionear read --ends '"
    )
    told = subprocess.run(
        ["fish", "--no-config", "-c", asked], env=environment, capture_output=True, text=True, check=True
    )
    words = [line.split("\t")[0] for line in told.stdout.splitlines()]
    assert words == ["cautions", "clamped", "pinned", "unknown"]


def test_zsh_completes(environment: dict[str, str]) -> None:
    if shutil.which("zsh") is None:
        pytest.skip("zsh is not on this machine")
    # The words that a key would bring, and what zsh would do with the answers.
    asked = """
        compdef() { print -r -- "$1 for $2" }
        _describe() { print -rl -- ${(P)3} }
        compadd() { print -rl -- ${(P)@[-1]} }
        eval "$(tensionear completion zsh)"
        words=(tensionear caut) CURRENT=2; _tensionear_completion
        words=(tensionear read --ends '') CURRENT=4; _tensionear_completion
    """
    told = subprocess.run(
        ["zsh", "-f", "-c", asked], env=environment, capture_output=True, text=True, check=True
    )
    assert told.stdout.splitlines() == [
        "_tensionear_completion for tensionear",
        f"cautions:{COMMANDS['cautions']}",
        "clamped",
        "pinned",
        "unknown",
    ]
