"""Draw the pictures of README and docs from the demo recordings: ``python docs/make_pictures.py``."""

from pathlib import Path

from tensionear.picture import draw_pluck
from tensionear.pluck.outcome import PluckRefusal
from tensionear.reading import BeltReading, read_recording
from tensionear.task import BeltTask

HERE = Path(__file__).parent
DEMO = HERE.parent / "recordings_demo"


def plucks(name: str) -> list[BeltReading]:
    """Everything that was heard in a demo recording."""
    return list(read_recording(DEMO / f"{name}.flac", BeltTask()))


def main() -> None:
    """Draw a pluck that was read and one that was refused."""
    folder = HERE / "pictures"
    folder.mkdir(exist_ok=True)
    draw_pluck(plucks("final-setting")[0].pluck, folder / "pluck.png", "invented demonstration, first pluck")
    refused = next(p.pluck for p in plucks("two-spans") if isinstance(p.pluck.outcome, PluckRefusal))
    draw_pluck(refused, folder / "refused.png", "invented demonstration, two spans answer")


if __name__ == "__main__":
    main()
