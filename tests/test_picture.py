"""Pictures of plucks: what must be on them, read and refused."""

from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure

from tensionear.picture import draw_pluck
from tensionear.pluck.listener import HeardPluck, PluckListener
from tensionear.pluck.outcome import PluckReading, PluckRefusal
from tests.plain_pluck import RATE_HZ, plucks


def heard(level: float = 0.2) -> HeardPluck:
    listener = PluckListener(RATE_HZ)
    sound = np.clip(plucks([110.0], level=level), -1.0, 1.0)
    (pluck,) = [*listener.hear(sound), *listener.finish()]
    return pluck


def words(figure: Figure) -> str:
    heading = figure.get_suptitle()
    titles = [axes.get_title() for axes in figure.axes]
    legends = [
        text.get_text()
        for axes in figure.axes
        if (legend := axes.get_legend())
        for text in legend.get_texts()
    ]
    return "\n".join([heading, *titles, *legends])


def test_a_reading_is_drawn_with_its_fit_its_partials_and_its_rivals(
    tmp_path: Path, drawn: list[Figure]
) -> None:
    pluck = heard()
    assert isinstance(pluck.outcome, PluckReading)
    draw_pluck(pluck, tmp_path / "pluck.png", title="test, pluck 1")
    assert (tmp_path / "pluck.png").read_bytes().startswith(b"\x89PNG")
    said = words(drawn[0])
    assert f"test, pluck 1, at {pluck.outcome.at_s:.2f} s: fundamental 110.0" in said
    assert "fitted ring-down" in said
    assert "its partials" in said
    for rival in pluck.outcome.rivals[:4]:
        assert f"rival {rival.fundamental_hz:.1f} Hz" in said


def test_a_refusal_is_drawn_with_its_reason_and_what_to_do(tmp_path: Path, drawn: list[Figure]) -> None:
    pluck = heard(level=6.0)
    assert isinstance(pluck.outcome, PluckRefusal)
    draw_pluck(pluck, tmp_path / "pluck.png")
    said = words(drawn[0])
    assert f"refused, {pluck.outcome.reason}" in said
    assert pluck.outcome.explanation in " ".join(said.split())
    assert "fitted ring-down" not in said


@pytest.mark.parametrize("suffix", [".pdf", ".svg"])
def test_other_kinds_of_pictures_are_drawn(suffix: str, tmp_path: Path) -> None:
    path = tmp_path / f"pluck{suffix}"
    draw_pluck(heard(), path)
    assert path.stat().st_size > 0


def test_a_place_that_cannot_be_written_is_an_os_error(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match="nowhere"):
        draw_pluck(heard(), tmp_path / "nowhere" / "pluck.png")
