"""Run the command line, as ``tensionear`` or with ``python -m tensionear``."""

import sys


def main() -> None:
    """Load the command line and run it; Ctrl-C ends quietly even while it is loaded.

    Raises
    ------
    SystemExit
        Always.
    """
    try:
        from tensionear.cli import main as run  # the longest part of the start: inside, for Ctrl-C's sake

        run()
    except KeyboardInterrupt:
        sys.exit(130)  # ExitCode.INTERRUPTED, which may not be loaded yet


if __name__ == "__main__":
    main()
