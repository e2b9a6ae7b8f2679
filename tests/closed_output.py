"""The command line as it runs when whoever reads its output has gone."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]


def assert_ends_quietly_when_nobody_listens(*arguments: str) -> None:
    """Run the command line into a pipe that is closed at once; it must end with 141 and without a word."""
    command = subprocess.Popen(
        [sys.executable, "-m", "tensionear", *arguments],
        cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    assert command.stdout is not None
    assert command.stderr is not None
    command.stdout.close()
    complaints = command.stderr.read()
    command.stderr.close()
    assert command.wait() == 141
    assert complaints == b""
