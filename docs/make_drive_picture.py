"""Draw the invented drive of docs/specifications-and-geometry.md: ``python docs/make_drive_picture.py``."""

from pathlib import Path

from tensionear.belt.drive import BeltDrive, Sense
from tensionear.belt.drive_check import check_belt_length
from tensionear.belt.estimate import Estimate
from tensionear.belt.pulley import Face, Pulley
from tensionear.drive_picture import draw_drive

HERE = Path(__file__).parent
TOOTH_PITCH_M = 0.008
N_BELT_TEETH = 150
CORD_DEPTH_M = 0.0018
"""From the back of the belt to the middle of its cords."""


def invented_drive() -> BeltDrive:
    """Two camshafts over a crankshaft, a water pump inside the loop and a tensioner on the belt's back."""
    within_m = 0.0005
    return BeltDrive(
        (
            Pulley.toothed("crank", 0.0, 0.0, 22, TOOTH_PITCH_M, within_m),
            Pulley.toothed("pump", 0.095, 0.110, 20, TOOTH_PITCH_M, within_m),
            Pulley.toothed("right cam", 0.085, 0.380, 44, TOOTH_PITCH_M, within_m),
            Pulley.toothed("left cam", -0.045, 0.380, 44, TOOTH_PITCH_M, within_m),
            Pulley.smooth(
                "tensioner", -0.058, 0.150, Estimate(0.029, 0.00005), CORD_DEPTH_M, Face.BACK, within_m
            ),
        ),
        Sense.ANTICLOCKWISE,
    )


def main() -> None:
    """Draw the drive with the span between pump and right camshaft marked."""
    folder = HERE / "pictures"
    folder.mkdir(exist_ok=True)
    drive = invented_drive()
    draw_drive(
        drive,
        drive.span_between("pump", "right cam"),
        folder / "drive.png",
        "invented drive",
        check_belt_length(drive, N_BELT_TEETH, TOOTH_PITCH_M),
    )


if __name__ == "__main__":
    main()
