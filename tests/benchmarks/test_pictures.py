"""Pictures of the benchmarks."""

import math
from pathlib import Path

from benchmarks.pictures import draw_bound, draw_errors

PNG = b"\x89PNG\r\n\x1a\n"


def test_bound_is_drawn_where_some_points_are_all_refused(tmp_path: Path) -> None:
    path = tmp_path / "bound.png"
    draw_bound({"Q 10": [(0, math.nan, 100.0), (10, 1.2, 5.0)], "Q 25": [(0, 1.1, 0.0)]}, 1.1, "Bound", path)
    assert path.read_bytes().startswith(PNG)


def test_errors_are_drawn_for_a_scene_without_readings(tmp_path: Path) -> None:
    path = tmp_path / "errors.png"
    draw_errors({"quiet": {30: [0.001, -0.0], 0: [math.nan]}, "hum": {30: [math.nan]}}, 0.03, "Errors", path)
    assert path.read_bytes().startswith(PNG)
