"""Long work shows how far it is, to those who watch and to nobody else."""

import pytest

from tensionear.cli.progress import progress


def work() -> None:
    with progress("reading", 4) as advance:
        for _ in range(4):
            advance(1)


def test_nothing_is_shown_where_nobody_watches(capsys: pytest.CaptureFixture[str]) -> None:
    work()
    assert capsys.readouterr() == ("", "")


def test_a_terminal_shows_how_far_it_is_on_the_error_output(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    work()
    out, err = capsys.readouterr()
    assert out == ""
    assert "reading" in err
    assert "50%" in err
    assert "100%" in err
