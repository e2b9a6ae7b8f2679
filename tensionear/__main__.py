"""Run the command line with ``python -m tensionear``."""

from tensionear.cli import main

if __name__ == "__main__":
    main()
