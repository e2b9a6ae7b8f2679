"""The passes of a job, and the steps that the trade expects between them."""

from enum import StrEnum


class PassKind(StrEnum):
    """What a pass is for; the value is the word for it."""

    OVER_TENSION = "over-tension"
    RUN_IN = "run-in"
    FINAL_SETTING = "final setting"
    RE_CHECK = "re-check"


class Step(StrEnum):
    """What a technician does in a job, in the order of the trade; the value is the word for it."""

    CAUTIONS = "cautions"
    """Read and acknowledge them."""

    OVER_TENSION = "over-tension"
    """Over-tension the new belt and read it."""

    TOOLS_OUT = "locking tools out"
    RUN_IN = "run-in"
    """Turn the engine over by hand; readings in between are welcome."""

    TOP_DEAD_CENTRE = "top dead centre"
    FINAL_SETTING = "final setting"
    """Set the tensioner to its final mark and read the belt."""

    RE_CHECK = "re-check"
    """Read it again, minutes or months later."""


STEP_OF = {
    PassKind.OVER_TENSION: Step.OVER_TENSION,
    PassKind.RUN_IN: Step.RUN_IN,
    PassKind.FINAL_SETTING: Step.FINAL_SETTING,
    PassKind.RE_CHECK: Step.RE_CHECK,
}
