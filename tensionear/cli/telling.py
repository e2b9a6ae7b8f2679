"""What `read` and `listen` do with every pluck alike."""

from collections.abc import Iterable, Iterator

from tensionear.cli.pictures import Pictures
from tensionear.cli.report import Report
from tensionear.reading import BeltReading


def told(readings: Iterable[BeltReading], report: Report, pictures: Pictures | None) -> Iterator[BeltReading]:
    """Tell each reading as it comes, draw it where pictures are asked for, and hand it on.

    Raises
    ------
    RecordingError, DeviceError
        As the readings do.
    """
    for reading in readings:
        report.tell_pluck(reading)
        if pictures is not None:
            pictures.draw(reading)
        yield reading
