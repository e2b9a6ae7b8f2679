"""Words by which jobs are found."""

import pytest

from tensionear.job.archive.words import LONGEST_WORD, MOST_WORDS, indexed, joined, name_key, sought, words_of


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("EX-4711", ["ex", "4711"]),
        ("Zofia ŻÓŁĆ", ["zofia", "zolc"]),
        ("Straße", ["strasse"]),
        ("STRASSE", ["strasse"]),
        ("Ωμέγα ΩΜΕΓΑ", ["ωμεγα", "ωμεγα"]),
        ("Жёлтый", ["желтыи"]),
        ("São Übermäßig", ["sao", "ubermassig"]),
        ("İstanbul ISTANBUL", ["istanbul", "istanbul"]),
        ("a_b,c.d/e", ["a", "b", "c", "d", "e"]),
        ("２０２６ ﬁt", ["2026", "fit"]),
        ("--- ,.", []),
        ("", []),
    ],
)
def test_case_accents_and_separators_do_not_count(text: str, words: list[str]) -> None:
    assert words_of(text) == words


@pytest.mark.parametrize("text", ["EX-4711", "ex 4711", "EX4711", "e.x.4711", "Ex‑4711"])
def test_a_plate_is_one_word_however_it_is_written(text: str) -> None:
    assert joined(text) == "ex4711"


def test_what_is_indexed_is_found_by_itself_and_under_its_name() -> None:
    assert indexed([("registration", "EX-47"), ("", "a note")]).split(" ") == [
        *("ex", "_registration_ex", "47", "_registration_47", "ex47", "_registration_ex47", "a", "note"),
    ]


def test_no_text_is_too_long_for_the_index() -> None:
    endless = " ".join(f"w{number}" for number in range(2 * MOST_WORDS)) + " " + "x" * 10_000
    words = indexed([("", "x" * 10_000), ("", endless)]).split(" ")
    assert len(words) == MOST_WORDS
    assert max(map(len, words)) == LONGEST_WORD


def test_several_words_may_be_one_in_the_index() -> None:
    assert sought("EX 4711", "registration") == (
        ("_registration_ex", "_registration_4711"),
        ("_registration_ex4711",),
    )
    assert sought("ex4711") == (("ex4711",),)


def test_punctuation_alone_looks_for_nothing() -> None:
    assert sought("-,-") == ()


def test_names_are_told_apart_by_their_punctuation() -> None:
    assert name_key(" 1-11 ") != name_key("11-1")
    assert name_key("Example  FOUR") == name_key("example four")
