"""Running a command of the command line within the test's own process."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Told:
    """What a command left behind."""

    code: int | str | None
    out: str
    err: str

    @property
    def lines(self) -> list[dict[str, Any]]:
        """The standard output as JSON lines; a NaN or an infinity in it fails."""
        return [json.loads(line, parse_constant=_no_json) for line in self.out.splitlines()]

    def of_kind(self, kind: str) -> list[dict[str, Any]]:
        """The JSON lines of one kind."""
        return [line for line in self.lines if line["kind"] == kind]


def _no_json(text: str) -> None:
    raise ValueError(f"{text} is no JSON")


Tensionear = Callable[..., Told]
