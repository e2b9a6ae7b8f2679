"""How a command ends, for the program or script that started it."""

from enum import IntEnum


class ExitCode(IntEnum):
    """Exit codes; the help of `tensionear` documents them."""

    DONE = 0
    BUG = 1
    INPUT = 2
    NO_READING = 3
    MICROPHONE = 4
    ARCHIVE = 5
    NOT_AS_IT_WAS = 6
    INTERRUPTED = 130
    OUTPUT_CLOSED = 141
