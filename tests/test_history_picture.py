"""The history of a vehicle or setup: where its means, corridors and numbers are."""

import itertools
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.container import ErrorbarContainer
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from tensionear.history_picture import HistoryPass, TensionHistory, draw_history, history_figure, history_png
from tensionear.tension_axes import Band, Mean

OVER_TENSION, FINAL, LATER = Band(600.0, 760.0), Band(380.0, 460.0), Band(390.0, 450.0)
FIRST = datetime(2022, 3, 2, 9, 12, tzinfo=UTC)


def job(number: str, at: datetime, final: Band = FINAL, is_demonstration: bool = False) -> list[HistoryPass]:
    return [
        HistoryPass(at, number, "over-tension", Mean(650.0, 8.0), OVER_TENSION, is_demonstration),
        HistoryPass(
            at + timedelta(minutes=40), number, "final setting", Mean(402.0, 5.0), final, is_demonstration
        ),
    ]


HISTORY = TensionHistory(
    tuple(
        job("A-1", FIRST)
        + job("A-2", FIRST + timedelta(days=800))
        + job("A-3", FIRST + timedelta(days=1600), LATER, is_demonstration=True)
    ),
    "Invented vehicle 'Example Wagon'",
)


def day(at: datetime) -> float:
    """Date as matplotlib counts it."""
    return at.timestamp() / 86400.0


def words(axes: Axes) -> list[str]:
    return [text.get_text() for text in axes.texts]


def bars(axes: Axes) -> list[tuple[float, float, float]]:
    """Date as matplotlib counts it, lower and upper end of each mean's bar."""
    segments = [
        each.lines[2][0].get_segments()[0] for each in axes.containers if isinstance(each, ErrorbarContainer)
    ]
    return [(float(each[0, 0]), float(each[0, 1]), float(each[1, 1])) for each in segments]


def legend(figure: Figure) -> list[str]:
    return [text.get_text() for text in figure.legends[0].get_texts()]


def test_each_mean_stands_at_its_date_with_its_expanded_uncertainty_as_a_bar() -> None:
    (axes,) = history_figure(HISTORY).axes
    drawn = bars(axes)
    assert [(low, high) for _, low, high in drawn] == [(642.0, 658.0), (397.0, 407.0)] * 3
    assert axes.get_xlim()[0] < day(FIRST) < axes.get_xlim()[1]
    day_mm = 152.0 / np.diff(axes.get_xlim())[0]
    for (at, _, _), each in zip(drawn, HISTORY.in_order, strict=True):
        assert abs(at - day(each.at)) * day_mm < 2.0


def test_passes_of_one_job_lie_side_by_side_in_their_order() -> None:
    (axes,) = history_figure(HISTORY).axes
    day_mm = 152.0 / np.diff(axes.get_xlim())[0]
    dates = [at for at, _, _ in bars(axes)]
    assert (dates[1] - dates[0]) * day_mm == pytest.approx(3.0)


def test_each_band_is_a_corridor_over_the_dates_that_it_held_for() -> None:
    (axes,) = history_figure(HISTORY).axes
    drawn = {
        (each.get_y(), each.get_y() + each.get_height()): (each.get_x(), each.get_x() + each.get_width())
        for each in axes.patches
        if isinstance(each, Rectangle)
    }
    dates = [at for at, _, _ in bars(axes)]
    assert set(drawn) == {(600.0, 760.0), (380.0, 460.0), (390.0, 450.0)}
    start, end = drawn[380.0, 460.0]
    assert start < dates[1] < dates[3] < end < dates[5]
    start, end = drawn[390.0, 450.0]
    assert dates[3] < start < dates[5] < end


def test_jobs_are_labelled_by_number_and_demonstrations_are_marked() -> None:
    figure = history_figure(HISTORY)
    assert {"A-1", "A-2", "[A-3]", "Invented vehicle 'Example Wagon'"} <= set(words(figure.axes[0]))
    assert "[ ]: demonstration" in legend(figure)
    assert "[ ]: demonstration" not in legend(history_figure(TensionHistory(tuple(job("A-1", FIRST)))))


def test_each_kind_of_pass_has_a_shape_that_the_legend_names() -> None:
    figure = history_figure(HISTORY)
    assert legend(figure)[:2] == ["over-tension, mean ± expanded uncertainty", "final setting"]
    means = [each for each in figure.axes[0].containers if isinstance(each, ErrorbarContainer)]
    shapes = [each.lines[0].get_marker() for each in means]
    assert shapes == ["o", "s"] * 3


@pytest.mark.parametrize("n_jobs", [3, 40, 150])
def test_numbers_of_many_jobs_do_not_lie_on_each_other_and_what_is_left_out_is_said(n_jobs: int) -> None:
    passes = [each for n in range(n_jobs) for each in job(f"2026-{n:04d}", FIRST + n * timedelta(days=5))]
    figure = history_figure(TensionHistory(tuple(passes)))
    texts = [text for text in figure.axes[0].texts if text.get_text().startswith("2026-")]
    boxes = [text.get_window_extent() for text in texts]
    assert not any(a.overlaps(b) for a, b in itertools.combinations(boxes, 2))
    assert all(figure.bbox.x0 <= box.x0 and box.x1 <= figure.bbox.x1 for box in boxes)
    left_out = [label for label in legend(figure) if "without room" in label]
    n_left_out = n_jobs - len(texts)
    assert left_out == ([f"jobs without room for their numbers: {n_left_out}"] if n_left_out else [])


def test_dates_are_written_in_figures() -> None:
    (axes,) = history_figure(HISTORY).axes
    labels = [label.get_text() for label in axes.get_xticklabels()]
    assert {"2022", "2026"} <= set(labels)
    assert all(set(label) <= set("0123456789-:") for label in labels)


def test_an_empty_history_says_so(tmp_path: Path) -> None:
    figure = history_figure(TensionHistory())
    assert "no pass with a mean" in words(figure.axes[0])
    draw_history(TensionHistory(), tmp_path / "history.png", dpi=50.0)
    assert (tmp_path / "history.png").read_bytes() == history_png(TensionHistory(), dpi=50.0)
