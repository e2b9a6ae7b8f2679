"""Where two documents differ, and how it is told."""

from tensionear.job.verification.difference import differences


def test_of_long_texts_what_differs_is_among_what_is_shown() -> None:
    start = "At the final setting the fundamental frequency is 150.23 Hz, by these very many words, which is "
    (found,) = differences({"said": f"{start}in band."}, {"said": f"{start}out of band."})
    assert found.words.startswith("said: ...'")
    assert "which is in band.' is stated" in found.words
    assert "which is out of band.' is found" in found.words


def test_short_texts_and_figures_are_shown_whole() -> None:
    assert [each.words for each in differences({"a": "x", "b": 2.0}, {"a": "y", "b": 3.0})] == [
        "a: 'x' is stated, 'y' is found",
        "b: 2 is stated, 3 is found (+50 %)",
    ]
