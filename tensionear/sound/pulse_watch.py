"""Does the sound server still take our sound from the same microphone?

When a microphone is unplugged, PulseAudio and PipeWire move whoever listened to it over to another input, and
PortAudio is told nothing: the sound goes on, from a laptop's lid instead of from beside the belt. Their own
`pactl` tells; where it is missing, or there is no such server, nothing is known and nothing is said.
"""

import json
import os
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

_ASK_EVERY_S = 1.0
_LONGEST_ANSWER_S = 1.0

Connections = dict[int, int]
"""Number of each of this program's recording streams, and number of the source that feeds it."""


class PulseWatch:
    """Tells when the sound server has moved this program's recording to another input.

    Parameters
    ----------
    ask : callable, optional
        Gives the present `Connections`, or None if they cannot be known; without, `pactl` is asked.
    """

    def __init__(self, ask: Callable[[], Connections | None] | None = None) -> None:
        self._ask = ask or _ask_pactl()
        self._known: Connections = {}
        self._next_s: float | None = None

    def has_moved(self, time_s: float) -> bool:
        """Tell whether a stream that was known is fed by another source now.

        Parameters
        ----------
        time_s : float
            On a clock that never jumps; the server is asked once a second. [s]
        """
        if self._ask is None or (self._next_s is not None and time_s < self._next_s):
            return False
        self._next_s = time_s + _ASK_EVERY_S
        connections = self._ask()
        if connections is None:
            self._ask = None  # it will not know better in a second, and asking costs time
            return False
        moved = any(self._known.get(stream, source) != source for stream, source in connections.items())
        self._known.update(connections)
        return moved


def _ask_pactl() -> Callable[[], Connections | None] | None:
    """Find out how to ask; None where there is no sound server to ask."""
    pactl = shutil.which("pactl")
    server = os.environ.get("PULSE_SERVER")
    if server is None:
        folder = os.environ.get("PULSE_RUNTIME_PATH") or f"{os.environ.get('XDG_RUNTIME_DIR', '')}/pulse"
        socket = Path(folder) / "native"
        if not socket.exists():
            return None
        # Named outright, or else pactl would start a server where none runs.
        server = f"unix:{socket}"
    if pactl is None:
        return None
    command = [pactl, "--format=json", f"--server={server}", "list", "source-outputs"]

    def ask() -> Connections | None:
        try:
            answer = subprocess.run(command, capture_output=True, timeout=_LONGEST_ANSWER_S, check=True)  # noqa: S603
            streams: list[dict[str, Any]] = json.loads(answer.stdout)
            return {
                int(stream["index"]): int(stream["source"])
                for stream in streams
                if stream["properties"].get("application.process.id") == str(os.getpid())
            }
        except (OSError, subprocess.SubprocessError, ValueError, LookupError, TypeError, AttributeError):
            return None

    return ask
