"""A sound card that is software only: what is played on it is what its microphone hears.

A pulseaudio daemon of our own, in a folder of our own, so that neither a person's sound server nor another
test is touched. A process that is started with `VirtualSoundCard.environment` hears this card by default,
through the same PortAudio and ALSA as a card of metal. Closing it ends the daemon and removes the folder.
"""

import os
import shutil
import subprocess
import tempfile
import time
from collections import deque
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Self

START_LIMIT_S = 20.0

ALSA_CONFIGURATION = """\
</usr/share/alsa/alsa.conf>
pcm.!default { type pulse }
ctl.!default { type pulse }
"""


class VirtualSoundCard:
    """A null sink, and a microphone that hears what is played on it."""

    def __init__(self) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="sound-card-"))
        socket = self._folder / "socket"
        alsa_configuration = self._folder / "alsa.conf"
        alsa_configuration.write_text(ALSA_CONFIGURATION, "utf-8")
        self.environment = {
            **{name: value for name, value in os.environ.items() if not name.startswith(("PULSE_", "ALSA_"))},
            "XDG_RUNTIME_DIR": str(self._folder),
            "PULSE_RUNTIME_PATH": str(self._folder),
            "PULSE_CONFIG_PATH": str(self._folder),
            "PULSE_STATE_PATH": str(self._folder),
            # A server that is named is never started anew by a client: a killed daemon stays dead.
            "PULSE_SERVER": f"unix:{socket}",
            "ALSA_CONFIG_PATH": str(alsa_configuration),
            "LC_ALL": "C.UTF-8",
        }
        self._log = (self._folder / "pulseaudio.log").open("w", encoding="utf-8")
        self._daemon = subprocess.Popen(
            [
                *("pulseaudio", "-n", "--daemonize=no", "--use-pid-file=no", "--disallow-exit"),
                # A daemon that a killed test run leaves behind ends by itself.
                "--exit-idle-time=300",
                *("-L", f"module-native-protocol-unix socket={socket}"),
                *("-L", "module-null-sink sink_name=air rate=48000 channels=1 norewinds=1"),
                *("-L", "module-remap-source master=air.monitor source_name=microphone"),
            ],
            env=self.environment,
            stdin=subprocess.DEVNULL,
            stdout=self._log,
            stderr=subprocess.STDOUT,
        )
        self._players: list[subprocess.Popen[bytes]] = []

    def __enter__(self) -> Self:
        try:
            self._wait_until("the daemon answers", lambda: self._pactl("info").returncode == 0)
            self._pactl("set-default-sink", "air").check_returncode()
            self._pactl("set-default-source", "microphone").check_returncode()
        except BaseException:
            self.close()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def wait_for_listener(self, listener: "subprocess.Popen[str]") -> None:
        """Return once a process records from the microphone.

        Raises
        ------
        AssertionError
            If the process ends before, or does not record in time.
        """
        # PortAudio opens each device for a moment to see what it can do: only a stream that stays counts.
        seen: deque[str] = deque(maxlen=10)

        def is_recording() -> bool:
            assert listener.poll() is None, f"the listener ended with exit code {listener.returncode}"
            seen.append(self._pactl("list", "short", "source-outputs").stdout)
            return len(seen) == seen.maxlen and set(seen) == {seen[0]} and seen[0] != ""

        self._wait_until("someone records", is_recording)

    def start_playing(self, recording: Path) -> "subprocess.Popen[bytes]":
        """Start to play a sound file and return the player."""
        player = subprocess.Popen(["paplay", str(recording)], env=self.environment)
        self._players.append(player)
        return player

    def unload_microphone(self) -> None:
        """Take the microphone away, as when its plug is pulled; the daemon lives on."""
        for source in ("module-remap-source", "module-null-sink"):
            self._pactl("unload-module", source).check_returncode()

    def suspend_microphone(self) -> None:
        """Make the microphone stand still: it is there, and gives no more sound."""
        self._pactl("suspend-source", "microphone", "1").check_returncode()

    def kill_daemon(self) -> None:
        """End the sound server without warning."""
        self._daemon.kill()
        self._daemon.wait()

    def close(self) -> None:
        """End every process of this card and remove its folder."""
        for process in [*self._players, self._daemon]:
            if process.poll() is None:
                process.kill()
            process.wait()
        self._log.close()
        shutil.rmtree(self._folder)

    def _pactl(self, *arguments: str) -> "subprocess.CompletedProcess[str]":
        return subprocess.run(
            ["pactl", *arguments], env=self.environment, capture_output=True, text=True, timeout=START_LIMIT_S
        )

    def _wait_until(self, what: str, is_so: Callable[[], bool]) -> None:
        deadline = time.monotonic() + START_LIMIT_S
        while not is_so():
            assert time.monotonic() < deadline, (
                f"waited {START_LIMIT_S} s in vain until {what}: {self._told()}"
            )
            time.sleep(0.05)

    def _told(self) -> str:
        self._log.flush()
        return Path(self._log.name).read_text("utf-8")[-2000:]
