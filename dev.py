"""All that a newcomer or a developer has to start, from a fresh clone, with nothing but Python 3.11 or newer.

    python3 dev.py demo     hear the demo recordings: readings, verdicts and pictures
    python3 dev.py test     run every check that a change has to pass
    python3 dev.py fix      format the code, mend what the linter can mend, draw up what is completed at the Tab key

The first start makes `.venv` and installs the project into it; later starts find that done.
The tests of the real microphone path and of real strings also need a few Linux packages: where that takes
no password (apt-get) they are installed, elsewhere the one line that installs them is printed.

The syntax stays old on purpose, so that an old Python can still read this file and say that it is too old.
"""

import argparse
import ctypes.util
import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

if sys.version_info < (3, 11):  # noqa: UP036
    sys.exit(
        f"tensionear needs Python 3.11 or newer, and {sys.executable} is Python {sys.version.split()[0]}: "
        "start dev.py with a newer one, for example `python3.13 dev.py demo`"
    )

PYTHON = "{}.{}".format(*sys.version_info)
ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
VENV_PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
STAMP = VENV / "installed.sha256"

SOUND_FONT_PATTERNS = ("share/soundfonts/FluidR3_GM.sf2", "share/sounds/sf*/FluidR3_GM.sf2")  # below /usr
POSTGRESQL_PATTERNS = (
    "lib/postgresql/*/bin/initdb",
    "lib/postgresql*/bin/initdb",
)  # below /usr, off the PATH
# What the tests ask of a Linux machine. The package names stand in the same order.
# Those of apt-get were tried; the others are from memory.
NEEDS: dict[str, Callable[[], object]] = {
    "pulseaudio": lambda: shutil.which("pulseaudio"),
    "pactl": lambda: shutil.which("pactl"),
    "PortAudio": lambda: ctypes.util.find_library("portaudio"),
    "ALSA's way to pulseaudio": lambda: a_file(
        "lib*/alsa-lib/*_pcm_pulse.so", "lib/*/alsa-lib/*_pcm_pulse.so"
    ),
    "sox": lambda: shutil.which("sox"),
    "fluidsynth": lambda: shutil.which("fluidsynth"),
    "FluidR3_GM.sf2": lambda: a_file(*SOUND_FONT_PATTERNS),
    "BLAS": lambda: ctypes.util.find_library("blas"),
    "PostgreSQL": lambda: shutil.which("initdb") or a_file(*POSTGRESQL_PATTERNS),
    "pdftotext": lambda: shutil.which("pdftotext") and shutil.which("pdftoppm"),
    "flac": lambda: shutil.which("flac"),
}
PACKAGES = {
    "apt-get": "pulseaudio pulseaudio-utils libportaudio2 libasound2-plugins sox fluidsynth fluid-soundfont-gm"
    " libblas3 postgresql poppler-utils flac",
    "dnf": "pulseaudio pulseaudio-utils portaudio alsa-plugins-pulseaudio sox fluidsynth fluid-soundfont-gm blas"
    " postgresql-server poppler-utils flac",
    "zypper": "pulseaudio pulseaudio-utils libportaudio2 alsa-plugins-pulse sox fluidsynth fluid-soundfont-gm"
    " libblas3 postgresql-server poppler-tools flac",
    "pacman": "pulseaudio libpulse portaudio alsa-plugins sox fluidsynth soundfont-fluid blas postgresql poppler"
    " flac",
}
INSTALL = {
    "apt-get": "apt-get install",
    "dnf": "dnf install",
    "zypper": "zypper install",
    "pacman": "pacman -S",
}

CHECKS = [
    ("formatting", ["-m", "ruff", "format", "--check"]),
    ("lint", ["-m", "ruff", "check"]),
    ("types", ["-m", "mypy"]),
    ("import rules", ["-c", "from importlinter.cli import lint_imports_command as lint; lint()"]),
    ("wheel", ["-m", "build", "--wheel", "--outdir", "{scratch}"]),
    ("tests", ["-m", "pytest", "--numprocesses", "auto", "--dist", "loadfile"]),
]


def main() -> int:
    """Do what the command line asks for; give the exit code."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("job", choices=["demo", "test", "fix"], metavar="demo|test|fix")
    job = parser.parse_args().job
    if job == "test":
        install_packages(missing_packages())
    make_venv()
    if job == "demo":
        return run_in_venv(["recordings_demo/demo.py"])
    if job == "fix":
        mend = [
            ["-m", "ruff", "check", "--fix", "--exit-zero", "--quiet"],
            ["-m", "ruff", "format"],
            ["-m", "tests.cli.command_outline"],
        ]
        return next((code for arguments in mend if (code := run_in_venv(arguments))), 0)
    return run_checks()


def run_checks() -> int:
    """Run every check in order, up to the first that fails."""
    started = time.monotonic()
    for number, (name, arguments) in enumerate(CHECKS, start=1):
        say(f"\n==== {number} of {len(CHECKS)}: {name} ====")
        with tempfile.TemporaryDirectory() as scratch:
            code = run_in_venv([argument.format(scratch=scratch) for argument in arguments])
        if code:
            say(f"\n==== Failed: {name} (exit code {code}) ====")
            return code
    say(f"\n==== All {len(CHECKS)} checks passed in {time.monotonic() - started:.0f} s ====")
    return 0


def make_venv() -> None:
    """Make `.venv` and install the project with its development tools, unless that has been done."""
    recipe = [str(ROOT), PYTHON, (ROOT / "pyproject.toml").read_text("utf-8")]
    wanted = hashlib.sha256("\n".join(recipe).encode()).hexdigest()
    if VENV_PYTHON.exists() and STAMP.exists() and STAMP.read_text("utf-8") == wanted:
        return
    if not venv_fits():
        say(f"Making {VENV}")
        if importlib.util.find_spec("ensurepip") is None:
            install_packages([f"python{PYTHON}-venv"])
        if run([sys.executable, "-m", "venv", "--clear", str(VENV)]):
            sys.exit(
                f"Python ({sys.executable}) could not make a virtual environment: its own words are above"
            )
    say("Installing tensionear and its development tools into it (a few minutes the first time)")
    pip = ["-m", "pip", "--disable-pip-version-check", "--no-input", "install", "--quiet"]
    if run_in_venv([*pip, "--editable", ".[dev]"]):
        sys.exit("the project could not be installed: pip's own words are above; is the network there?")
    STAMP.write_text(wanted, "utf-8")


def venv_fits() -> bool:
    """Tell whether `.venv` is there, has pip, and was made for the Python that runs this."""
    question = "import pip, sys; sys.exit('{}.{}'.format(*sys.version_info) != sys.argv[1])"
    return VENV_PYTHON.exists() and run([str(VENV_PYTHON), "-c", question, PYTHON], quiet=True) == 0


def missing_packages() -> list[str]:
    """List the packages that the tests need and this Linux machine lacks; elsewhere none."""
    if sys.platform != "linux":
        say("The tests of the microphone path and of real strings need Linux: here they are skipped.")
        return []
    manager = package_manager()
    names = PACKAGES[manager].split() if manager else list(NEEDS)
    return [name for name, is_there in zip(names, NEEDS.values()) if not is_there()]  # noqa: B905


def install_packages(packages: list[str]) -> None:
    """Install Linux packages where that takes no password; otherwise say how to."""
    if not packages:
        return
    manager = package_manager()
    if manager is None:
        say("Not found on this machine: {}. Install them its own way.".format(", ".join(packages)))
        return
    line = " ".join(["sudo", INSTALL[manager], *packages])
    is_root = getattr(os, "geteuid", lambda: None)() == 0
    if manager != "apt-get" or not (is_root or run(["sudo", "-n", "true"], quiet=True) == 0):
        say(f"Missing from this machine; this line installs it:\n\n    {line}\n")
        return
    say("Installing {}".format(" ".join(packages)))
    apt_get = [
        *([] if is_root else ["sudo", "-n"]),
        "env",
        "DEBIAN_FRONTEND=noninteractive",
        "apt-get",
        "-qq",
    ]
    run([*apt_get, "update"])
    # --no-remove: a desktop's own sound server stays, even where it does not go together with these.
    if run([*apt_get, "install", "--yes", "--no-remove", "--no-install-recommends", *packages]):
        say(f"That did not work: apt-get's own words are above. The line to run by hand:\n\n    {line}\n")


def package_manager() -> str | None:
    """Name of this machine's package manager, if it is one that is known here."""
    return next((manager for manager in PACKAGES if shutil.which(manager)), None)


def a_file(*patterns: str) -> bool:
    """Tell whether there is a file below /usr for one of the patterns."""
    return any(any(Path("/usr").glob(pattern)) for pattern in patterns)


def run_in_venv(arguments: list[str]) -> int:
    """Run `.venv`'s Python in the project's folder; give the exit code."""
    # The matrices of a pluck are small: more threads only wait for one another.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    return run([str(VENV_PYTHON), *arguments])


def run(command: list[str], quiet: bool = False) -> int:
    """Run a command in the project's folder; give the exit code, 127 if there is no such command."""
    sys.stdout.flush()
    silence = subprocess.DEVNULL if quiet else None
    try:
        return subprocess.call(
            command, cwd=str(ROOT), stdin=subprocess.DEVNULL, stdout=silence, stderr=silence
        )
    except FileNotFoundError:
        return 127


def say(text: str) -> None:
    """Print at once, so that it stands before what a command prints."""
    print(text, flush=True)


if __name__ == "__main__":
    sys.exit(main())
