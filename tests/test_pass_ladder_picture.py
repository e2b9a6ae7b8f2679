"""The pass ladder: where its dots, bars, corridors and words are."""

import io
import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.container import ErrorbarContainer
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from matplotlib.text import Annotation
from PIL import Image

from tensionear.metrology.decision import Verdict
from tensionear.pass_ladder_picture import (
    LadderPass,
    LadderPluck,
    PassLadder,
    draw_pass_ladder,
    pass_ladder_figure,
    pass_ladder_png,
)
from tensionear.tension_axes import Band, Mean

OVER_TENSION = LadderPass(
    "over-tension",
    (LadderPluck(650.0), LadderPluck(652.0)),
    mean=Mean(651.0, 8.0, "651.0 ± 8.0 N"),
    band=Band(600.0, 760.0),
    verdict=Verdict.IN_BAND,
)
RUN_IN = LadderPass("run-in", tuple(LadderPluck(644.0 - 10 * n, revolution=n) for n in (0, 1, 2, 6)))
FINAL = LadderPass(
    "final setting",
    (LadderPluck(402.0), LadderPluck(404.0), LadderPluck(420.0, is_in_mean=False)),
    n_refused=2,
    mean=Mean(403.0, 5.0, "403.0 ± 5.0 N"),
    band=Band(380.0, 460.0),
    verdict=Verdict.OUT_OF_BAND,
    words="out of band, low",
)
RE_CHECK = LadderPass("re-check", band=Band(380.0, 460.0), is_skipped=True)
LADDER = PassLadder((OVER_TENSION, RUN_IN, FINAL, RE_CHECK))


def words(axes: Axes) -> list[str]:
    return [text.get_text() for text in axes.texts]


def placed(axes: Axes) -> dict[str, tuple[float, float]]:
    return {text.get_text(): text.xy for text in axes.texts if isinstance(text, Annotation)}


def dots(axes: Axes, marker: str = "o") -> list[Line2D]:
    return [line for line in axes.get_lines() if line.get_marker() == marker]


def place(line: Line2D) -> tuple[float, float]:
    across, up = (np.asarray(each, dtype=float) for each in line.get_data())
    return float(across[0]), float(up[0])


def legend(figure: Figure) -> list[str]:
    return [text.get_text() for text in figure.legends[0].get_texts()]


def corridors(axes: Axes) -> list[tuple[float, float, float, float]]:
    """Left, right, lower and upper end of each."""
    return [
        (each.get_x(), each.get_x() + each.get_width(), each.get_y(), each.get_y() + each.get_height())
        for each in axes.patches
        if isinstance(each, Rectangle)
    ]


def test_each_pluck_is_a_dot_at_its_value_in_the_column_of_its_pass() -> None:
    (axes,) = pass_ladder_figure(LADDER).axes
    drawn = [place(dot) for dot in dots(axes)]
    assert [value for _, value in drawn] == [650, 652, 644, 634, 624, 584, 402, 404, 420]
    assert [int(x < 1.0) for x, _ in drawn] == [1, 1, 0, 0, 0, 0, 0, 0, 0]
    assert all(1.0 < x < 2.5 for x, _ in drawn[2:6])
    assert all(2.5 < x < 3.5 for x, _ in drawn[6:])


def test_only_what_is_outside_the_mean_is_hollow_and_the_legend_says_so() -> None:
    figure = pass_ladder_figure(LADDER)
    assert [dot.get_markerfacecolor() == "white" for dot in dots(figure.axes[0])] == [False] * 8 + [True]
    assert legend(figure) == [
        "pluck",
        "pluck left out of the mean",
        "mean ± expanded uncertainty",
        "tolerance band",
    ]
    assert "pluck left out of the mean" not in legend(pass_ladder_figure(PassLadder((OVER_TENSION,))))


def test_plucks_of_the_run_in_stand_at_their_revolutions_which_are_numbered() -> None:
    (axes,) = pass_ladder_figure(LADDER).axes
    across = [place(dot)[0] for dot in dots(axes)][2:6]
    steps = np.diff(across)
    assert steps[1] == pytest.approx(steps[0])
    assert steps[2] == pytest.approx(4 * steps[0])
    numbered = {word: at[0] for word, at in placed(axes).items() if word in "0126"}
    assert numbered == pytest.approx(dict(zip("0126", across, strict=True)))
    assert "revolutions 0 to 6" in words(axes)


def test_each_mean_has_a_bar_of_its_expanded_uncertainty_and_its_figures_above() -> None:
    (axes,) = pass_ladder_figure(LADDER).axes
    bars = [each for each in axes.containers if isinstance(each, ErrorbarContainer)]
    ends = [bar.lines[2][0].get_segments()[0][:, 1].tolist() for bar in bars]
    assert ends == [[643.0, 659.0], [398.0, 408.0]]
    assert {"651.0 ± 8.0 N", "403.0 ± 5.0 N"} <= set(words(axes))


def test_the_corridor_lies_across_the_passes_that_its_band_holds_for_and_no_others() -> None:
    (axes,) = pass_ladder_figure(LADDER).axes
    assert corridors(axes) == [(0.0, 1.0, 600.0, 760.0), (2.5, 4.5, 380.0, 460.0)]
    assert {"600 N", "760 N", "380 N", "460 N"} <= set(words(axes))


def test_a_band_with_one_limit_reaches_to_the_edge_and_an_aim_is_a_line() -> None:
    (axes,) = pass_ladder_figure(PassLadder((replace(FINAL, band=Band(380.0, float("inf"))),))).axes
    assert corridors(axes) == [pytest.approx((0.0, 1.0, 380.0, axes.get_ylim()[1]))]
    assert "inf" not in " ".join(words(axes))
    (axes,) = pass_ladder_figure(PassLadder((replace(FINAL, band=Band(400.0, 400.0)),))).axes
    assert corridors(axes) == []
    assert words(axes).count("400 N") == 1


def test_refused_plucks_are_counted_and_not_drawn() -> None:
    (axes,) = pass_ladder_figure(PassLadder((replace(FINAL, plucks=(), mean=None, n_refused=3),))).axes
    assert dots(axes) == []
    assert "3 refused" in words(axes)
    assert "no reading" in words(axes)


def test_a_skipped_pass_is_an_empty_column_with_the_word() -> None:
    (axes,) = pass_ladder_figure(LADDER).axes
    assert placed(axes)["skipped"][0] == 4.0
    assert all(place(dot)[0] < 3.5 for dot in dots(axes))


def test_the_verdict_stands_above_its_column_as_sign_and_word() -> None:
    (axes,) = pass_ladder_figure(LADDER).axes
    above = {word: at for word, at in placed(axes).items() if word[:1] in ("✓", "✗")}
    assert above == {"✓ in band": (0.5, 1.0), "✗ out of band, low": (3.0, 1.0)}


def test_a_slipped_octave_does_not_squash_the_picture_but_is_told_at_its_edge() -> None:
    slipped = replace(FINAL, plucks=(*FINAL.plucks, LadderPluck(1612.0, is_in_mean=False)))
    (axes,) = pass_ladder_figure(PassLadder((slipped,))).axes
    assert axes.get_ylim()[1] < 500.0
    (at_edge,) = dots(axes, "^")
    assert place(at_edge)[1] < axes.get_ylim()[1]
    assert at_edge.get_markerfacecolor() == "white"
    assert "1612 N" in words(axes)


def test_many_passes_are_folded_into_rows_of_one_scale() -> None:
    figure = pass_ladder_figure(PassLadder((FINAL,) * 9), height_mm=150.0)
    assert len(figure.axes) == 2
    assert [len(dots(axes)) for axes in figure.axes] == [15, 12]
    assert figure.axes[0].get_ylim() == figure.axes[1].get_ylim()


@pytest.mark.parametrize("n_passes", [1, 4, 8])
def test_no_two_words_of_a_ladder_lie_on_each_other_or_leave_the_page(n_passes: int) -> None:
    long_name = replace(
        FINAL, name="re-check after a complaint of noise, third time", when="14 Oct 2026, 09:12"
    )
    passes = [OVER_TENSION, RUN_IN, long_name, RE_CHECK, FINAL, long_name, RE_CHECK, OVER_TENSION]
    figure = pass_ladder_figure(PassLadder(tuple(passes[:n_passes])))
    page = figure.bbox
    boxes = {text: text.get_window_extent() for text in figure.axes[0].texts if text.get_text()}
    for text, box in boxes.items():
        assert page.x0 <= box.x0 < box.x1 <= page.x1, text
        assert page.y0 <= box.y0 < box.y1 <= page.y1, text
    lying = [
        (one.get_text(), other.get_text())
        for (one, a), (other, b) in itertools.combinations(boxes.items(), 2)
        if a.overlaps(b)
    ]
    assert lying == []
    (below,) = figure.legends
    assert not any(below.get_window_extent().overlaps(box) for box in boxes.values())


def test_frequencies_are_drawn_in_their_unit() -> None:
    (axes,) = pass_ladder_figure(PassLadder((FINAL,), "fundamental frequency", "Hz")).axes
    assert axes.get_ylabel() == "fundamental frequency [Hz]"
    assert "380 Hz" in words(axes)


def test_names_with_dollars_and_foreign_letters_are_written_as_they_are() -> None:
    odd = replace(FINAL, name="$x$ Żółć 张")
    figure = pass_ladder_figure(PassLadder((odd,)))
    assert "$x$ Żółć [U+5F20]" in words(figure.axes[0])
    figure.canvas.draw()


def test_png_has_the_size_that_was_asked_for_and_is_the_same_each_time() -> None:
    png = pass_ladder_png(LADDER, width_mm=127.0, height_mm=76.2, dpi=100.0)
    with Image.open(io.BytesIO(png)) as image:
        assert image.size == (500, 300)
        assert "Software" not in image.info
    assert png == pass_ladder_png(LADDER, width_mm=127.0, height_mm=76.2, dpi=100.0)


def test_a_ladder_without_passes_is_drawn_empty(tmp_path: Path) -> None:
    draw_pass_ladder(PassLadder(), tmp_path / "ladder.png", dpi=50.0)
    assert (tmp_path / "ladder.png").read_bytes().startswith(b"\x89PNG")


def test_a_place_that_cannot_be_written_is_an_os_error(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match="nowhere"):
        draw_pass_ladder(PassLadder(), tmp_path / "nowhere" / "ladder.png", dpi=50.0)
