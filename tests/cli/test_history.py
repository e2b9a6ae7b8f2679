"""``tensionear history``: every pass that ended of one vehicle or setup, as table, lines and picture."""

from pathlib import Path

import pytest

from tensionear.history_picture import TensionHistory, draw_history
from tensionear.job.archive.opening import open_archive
from tensionear.job.passes import PassKind
from tensionear.job.pluck_document import PluckDocument
from tensionear.tension_axes import Band
from tests.cli.command import Tensionear
from tests.job.archive.kept import do
from tests.job.invented import a_pass, invented_details, invented_pluck, invented_setup

NAME = "Example Four, long span"


@pytest.fixture(autouse=True)
def own_archive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An archive with three jobs, one of them a demonstration, and one of another vehicle."""
    path = tmp_path / "archive.sqlite"
    monkeypatch.setenv("TENSIONEAR_ARCHIVE", str(path))
    monkeypatch.setenv("COLUMNS", "96")
    monkeypatch.chdir(tmp_path)
    with open_archive(str(path)) as archive:
        archive.add_setup(invented_setup())
        for number, vehicle in (("1", "Invented van"), ("2", "Invented van"), ("3", "Invented bus")):
            details = invented_details(vehicle=vehicle, registration=f"EX {vehicle[-3:]}")
            archive.open_job(NAME, details, number=number, is_demonstration=number == "2")
            do(archive, number, a_pass(PassKind.FINAL_SETTING, plucks(118.0)))
            do(archive, number, a_pass(PassKind.RE_CHECK, plucks(108.0), number=2, first_pluck=4))
        do(archive, "1", a_pass(PassKind.RUN_IN, plucks(120.0), number=3, first_pluck=7))
    return path


def plucks(fundamental_hz: float) -> list[PluckDocument]:
    return [invented_pluck(fundamental_hz + step) for step in (-0.1, 0.0, 0.1)]


def test_the_passes_of_one_vehicle_are_told_with_limits_verdict_and_demonstrations(
    tensionear: Tensionear,
) -> None:
    told = tensionear("history", "--vehicle", "INVENTED van")
    assert told.code == 0
    rows = [line.split() for line in told.out.splitlines() if line.startswith("20")]
    assert [(each[1], " ".join(each[2:4])) for each in rows] == [
        ("1", "final setting"),
        ("1", "re-check 3/3"),
        ("[2]", "final setting"),
        ("[2]", "re-check 3/3"),
        ("1", "run-in 3/3"),
    ]
    # T = 4·m·L²·f² with 0.165 kg/m and 0.213 m: 416.9 N at 118 Hz, 349.3 N at 108 Hz; the band is 380 to 460 N.
    assert "416.9 ± " in told.out
    assert "in band, 380 to 460 N" in told.out
    assert "349.3 ± " in told.out
    assert "out of band, 380 to 460 N" in told.out
    assert "Mind: 1 job is a demonstration, in [brackets]; nothing of that is real." in told.out
    assert "Mind" not in tensionear("history", "--registration", "ex-bus").out


def test_lines_are_in_si_units_and_complete(tensionear: Tensionear) -> None:
    lines = tensionear("history", "--setup", NAME, "--json").of_kind("history_pass")
    assert len(lines) == 7
    assert [each["is_demonstration"] for each in lines].count(True) == 2
    final = next(each for each in lines if each["compared_quantity"])
    assert final["tension_n"] == pytest.approx(4 * 0.165 * 0.213**2 * 118.0**2, rel=1e-6)
    assert (final["lower"], final["upper"], final["unit"], final["verdict"]) == (380.0, 460.0, "N", "in band")
    run_in = next(each for each in lines if each["compared_quantity"] is None)
    assert (run_in["n_readings"], run_in["tension_n"], run_in["verdict"]) == (3, None, None)


def test_the_picture_shows_every_mean_with_its_band(
    tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown: list[TensionHistory] = []

    def draw(history: TensionHistory, path: Path) -> None:
        shown.append(history)
        draw_history(history, path)

    monkeypatch.setattr("tensionear.history_picture.draw_history", draw)
    told = tensionear("history", "--vehicle", "Invented van", "--picture", "seen.png")
    assert told.code == 0
    assert "Picture: seen.png (1 pass without a mean" in told.err
    assert Path("seen.png").read_bytes().startswith(b"\x89PNG")
    (history,) = shown
    assert (history.title, history.quantity, history.unit) == (
        "Invented van",
        "tension of a flexible span",
        "N",
    )
    assert [each.is_demonstration for each in history.passes] == [False, False, True, True]
    assert [each.mean.value for each in history.passes] == pytest.approx([417.0, 349.3] * 2, rel=1e-3)
    assert {each.band for each in history.passes} == {Band(380.0, 460.0)}


def test_tensions_are_told_in_pounds_force_on_request(tensionear: Tensionear) -> None:
    told = tensionear("history", "--vehicle", "Invented van", "--tell-in", "lbf")
    assert "lbf" in told.out
    assert "93.7" in told.out  # 416.9 N over 4.448 N/lbf


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "the history of what?"),
        (("--setup", "gone"), "there is no setup 'gone'"),
        (("--vehicle", "Invented van", "--picture", "seen.gif"), "does not end in .png"),
        (("--vehicle", "Invented van", "--picture", "gone/seen.png"), "there is no folder gone"),
    ],
)
def test_what_cannot_be_done_is_told(tensionear: Tensionear, arguments: tuple[str, ...], said: str) -> None:
    told = tensionear("history", *arguments)
    assert told.code == 2
    assert said in told.err


def test_nothing_found_is_said(tensionear: Tensionear) -> None:
    told = tensionear("history", "--vehicle", "van")
    assert (told.code, told.out) == (0, "")
    assert "no pass that ended" in told.err
