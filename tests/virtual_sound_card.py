"""A sound card that is software only: what is played on it is what its microphone hears.

A pulseaudio daemon of our own, in a folder of our own, so that neither a person's sound server nor another
test is touched. A process that is started with `VirtualSoundCard.environment` hears this card by default,
through the same PortAudio and ALSA as a card of metal. Closing it ends the daemon and removes the folder.
"""

import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Self

START_LIMIT_S = 30.0

ALSA_CONFIGURATION = """\
</usr/share/alsa/alsa.conf>
pcm.!default { type pulse }
ctl.!default { type pulse }
"""


class Guest:
    """A process that uses the card; what it prints goes to files, so that it can be looked at meanwhile."""

    def __init__(self, command: list[str], environment: dict[str, str], folder: Path) -> None:
        folder.mkdir()
        self._output, self._error_output = folder / "output", folder / "error_output"
        with self._output.open("wb") as output, self._error_output.open("wb") as error_output:
            self._process = subprocess.Popen(
                command, env=environment, stdin=subprocess.DEVNULL, stdout=output, stderr=error_output
            )

    @property
    def output(self) -> str:
        """What it has printed."""
        return self._output.read_text("utf-8")

    @property
    def error_output(self) -> str:
        """What it has printed beside that."""
        return self._error_output.read_text("utf-8")

    @property
    def exit_code(self) -> int | None:
        """None while it runs."""
        return self._process.poll()

    def wait(self, limit_s: float) -> int:
        """Wait for its end and give the exit code.

        Raises
        ------
        AssertionError
            If it still runs after `limit_s`.
        """
        try:
            return self._process.wait(limit_s)
        except subprocess.TimeoutExpired:
            raise AssertionError(
                f"still running after {limit_s} s: {self.output}{self.error_output}"
            ) from None

    def interrupt(self) -> None:
        """Press Ctrl-C."""
        self._process.send_signal(signal.SIGINT)

    def kill(self) -> None:
        """End it, if it still runs."""
        self._process.kill()
        self._process.wait()


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
            "PYTHONUNBUFFERED": "1",
        }
        self._guests: list[Guest] = []
        self._daemon = self._start(
            [
                *("pulseaudio", "-n", "--daemonize=no", "--use-pid-file=no", "--disallow-exit"),
                # A daemon that a killed test run leaves behind ends by itself.
                "--exit-idle-time=300",
                *("-L", f"module-native-protocol-unix socket={socket}"),
                # Without rewinds the sink works in steps of 50 ms, as a card of metal does, and not of 2 s.
                *("-L", "module-null-sink sink_name=air rate=48000 channels=1 norewinds=1"),
                *("-L", "module-remap-source master=air.monitor source_name=microphone"),
            ]
        )

    def __enter__(self) -> Self:
        try:
            self._wait_for(self._daemon, "answer", lambda: self._pactl("info").returncode == 0)
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

    def start_listening(self, command: list[str], ready: str) -> Guest:
        """Start a process that records; return it once it says on its error output that it is ready.

        Raises
        ------
        AssertionError
            If it ends before, or is not ready in time.
        """
        listener = self._start(command)
        self._wait_for(listener, f"say {ready!r}", lambda: ready in listener.error_output)
        return listener

    def start_playing(self, recording: Path) -> None:
        """Start to play a sound file."""
        self._start(["paplay", str(recording)])

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

    def close(self) -> None:
        """End every process that was started here and remove the folder."""
        for guest in reversed(self._guests):
            guest.kill()
        shutil.rmtree(self._folder)

    def _start(self, command: list[str]) -> Guest:
        guest = Guest(command, self.environment, self._folder / f"guest-{len(self._guests)}")
        self._guests.append(guest)
        return guest

    def _pactl(self, *arguments: str) -> "subprocess.CompletedProcess[bytes]":
        return subprocess.run(
            ["pactl", *arguments], env=self.environment, capture_output=True, timeout=START_LIMIT_S
        )

    def _wait_for(self, guest: Guest, what: str, is_so: Callable[[], bool]) -> None:
        deadline = time.monotonic() + START_LIMIT_S
        while not is_so():
            in_vain = guest.exit_code is not None or time.monotonic() > deadline
            assert not in_vain, f"did not {what} (exit code {guest.exit_code}): {guest.error_output}"
            time.sleep(0.05)
