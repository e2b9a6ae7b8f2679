"""Long work shows how far it is, to those who watch and to nobody else."""

from collections.abc import Callable

import pytest

from tensionear.cli.progress import progress_shown, steps_shown


def counted() -> None:
    with steps_shown("reading", 4) as advance:
        for _ in range(4):
            advance(1)


def told() -> None:
    with progress_shown("reading") as progress:
        for done in range(1, 5):
            progress(done, 4)


@pytest.mark.parametrize("work", [counted, told])
def test_nothing_is_shown_where_nobody_watches(
    work: Callable[[], None], capsys: pytest.CaptureFixture[str]
) -> None:
    work()
    assert capsys.readouterr() == ("", "")


@pytest.mark.parametrize("work", [counted, told])
def test_a_terminal_shows_how_far_it_is_on_the_error_output(
    work: Callable[[], None], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    work()
    out, err = capsys.readouterr()
    assert out == ""
    assert "reading" in err
    assert "50%" in err
    assert "100%" in err
