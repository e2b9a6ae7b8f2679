"""What the tests of setups and jobs give to the command line; all of it is invented."""

from pathlib import Path

RECORDINGS = Path(__file__).parents[2] / "recordings_demo"

SPAN = ("--span-length-mm", "213", "--linear-density-g-per-m", "165", "--flexible")
SPECIFIED = (
    "--band-n",
    "380",
    "460",
    "--method",
    "vibration",
    "--stated-for-this-span",
    "--source",
    "invented page 12",
)
OVER_TENSION = ("--over-tension-band-n", "600", "760")
RUN_IN = ("--revolutions", "10", "--direction", "clockwise")
CHECKLIST = (
    "--check", "tools-out", "All pins out", "--check-value", "final-setting", "Tensioner bolt", "25", "N m",
)  # fmt: skip
SETUP = (*SPAN, *SPECIFIED, *OVER_TENSION, *RUN_IN, *CHECKLIST, "--caution", "Invented caution.")
"""Options of a whole setup, by the values of recordings_demo/job.json."""
