"""Pictures of drives: what must be on them."""

from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure

from tensionear.belt.drive import BeltDrive, Sense
from tensionear.belt.drive_check import check_belt_length
from tensionear.belt.estimate import Estimate
from tensionear.belt.pulley import Face, Pulley
from tensionear.drive_picture import draw_drive


def drive(face: Face = Face.BACK, idler_x_m: float = 0.04) -> BeltDrive:
    return BeltDrive(
        (
            Pulley.toothed("crank", 0.0, 0.0, 20, 0.008),
            Pulley.smooth("idler", idler_x_m, 0.1, Estimate(0.02), 0.002, face),
            Pulley.toothed("cam", 0.0, 0.25, 40, 0.008),
        ),
        Sense.ANTICLOCKWISE,
    )


def words(figure: Figure) -> str:
    (axes,) = figure.axes
    legend = axes.get_legend()
    assert legend is not None
    texts = [text.get_text() for text in [*axes.texts, *legend.get_texts()]]
    return " ".join(" ".join([figure.get_suptitle(), *texts, figure.get_supxlabel()]).split())


def lines(figure: Figure) -> list[np.ndarray]:
    """Points of the lines, shape (n, 2). [mm]."""
    (axes,) = figure.axes
    return [np.column_stack(line.get_data()) for line in axes.get_lines()]


def test_drive_is_drawn_with_its_pulleys_its_span_lengths_and_what_the_belt_says(
    tmp_path: Path, drawn: list[Figure]
) -> None:
    shown = drive()
    check = check_belt_length(shown, 150, 0.008)
    draw_drive(shown, shown.spans[2], tmp_path / "drive.png", "test", check)
    assert (tmp_path / "drive.png").read_bytes().startswith(b"\x89PNG")
    said = words(drawn[0])
    assert "test: cam–crank is plucked" in said
    for pulley, wrap_rad in zip(shown.pulleys, shown.wrap_angles_rad, strict=True):
        assert f"{pulley.name} {np.degrees(wrap_rad):.0f}°" in said
    for span in shown.spans:
        assert f"{1000 * span.span_length.value:.1f} mm" in said
    assert check.explanation[1:] in said
    assert "pulley on the back" in said


def test_plucked_span_is_marked_from_contact_to_contact(tmp_path: Path, drawn: list[Figure]) -> None:
    shown = drive()
    draw_drive(shown, shown.spans[2], tmp_path / "drive.png")
    (marked,) = (line for line in lines(drawn[0]) if len(line) == 2)
    assert marked == pytest.approx(1000 * np.array([shown.spans[2].start_m, shown.spans[2].end_m]))


@pytest.mark.parametrize("face", Face)
def test_belt_is_drawn_as_long_as_it_is(face: Face, tmp_path: Path, drawn: list[Figure]) -> None:
    shown = drive(face)
    draw_drive(shown, None, tmp_path / "drive.svg")
    (belt,) = (line for line in lines(drawn[0]) if len(line) > 2)
    steps = np.diff(belt, axis=0)
    drawn_mm = float(np.hypot(steps[:, 0], steps[:, 1]).sum())
    assert drawn_mm == pytest.approx(1000 * shown.belt_length.value, rel=1e-4)
    assert "plucked" not in words(drawn[0])
    assert ("pulley on the back" in words(drawn[0])) is (face is Face.BACK)


def test_no_two_labels_of_a_drive_lie_on_each_other(tmp_path: Path, drawn: list[Figure]) -> None:
    shown = drive()
    draw_drive(shown, shown.spans[2], tmp_path / "drive.png")
    boxes = [text.get_window_extent() for text in drawn[0].axes[0].texts if text.get_text()]
    overlapping = [
        (i, j) for i, one in enumerate(boxes) for j, other in enumerate(boxes[:i]) if one.overlaps(other)
    ]
    assert overlapping == []


def test_a_place_that_cannot_be_written_is_an_os_error(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match="nowhere"):
        draw_drive(drive(), None, tmp_path / "nowhere" / "drive.png")
