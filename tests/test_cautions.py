import pytest

from tensionear.cautions import CAUTIONS, cautions_text


@pytest.mark.parametrize(
    "matter",
    [
        "trained technicians",
        "manufacturer's procedure, values and torques win",
        "no specification of its own",
        "cannot start",
        "cold",
        "locking tools out before the engine is turned",
        "hands, tools and clothing clear",
        "by hand only, in its direction of rotation",
        "does not replace the tensioner's mark",
        "Local rules",
    ],
)
def test_each_danger_has_its_caution(matter: str) -> None:
    assert sum(matter in caution for caution in CAUTIONS) == 1


def test_cautions_are_short_sentences() -> None:
    for caution in CAUTIONS:
        assert caution.endswith(".")
        assert len(caution) <= 110


def test_text_gives_every_caution_its_line() -> None:
    assert cautions_text().splitlines() == [f"- {caution}" for caution in CAUTIONS]
