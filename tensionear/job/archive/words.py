"""How a text becomes words to be found by: case, accents and separators do not count, on either database alike."""

import re
import unicodedata
from collections.abc import Iterable

LONGEST_WORD = 64
MOST_WORDS = 5_000
"""Of one job; keeps a very long list of notes within what PostgreSQL can index (1 MB)."""

# Unicode takes these apart into no letter and mark, and a keyboard of another country has none of them.
_STROKED = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ħ": "h", "ŧ": "t", "ı": "i"})
_RUN = re.compile(r"[^\W_]+")


def words_of(text: str) -> list[str]:
    """Words of a text in their order: letters and digits only, casefolded, without accents."""
    plain = unicodedata.normalize("NFKD", text.casefold()).casefold()
    bare = "".join(letter for letter in plain if not unicodedata.combining(letter)).translate(_STROKED)
    return [run[:LONGEST_WORD] for run in _RUN.findall(bare)]


def joined(text: str) -> str:
    """The words of a text as one: how a plate is compared, whoever puts hyphens and blanks where."""
    return "".join(words_of(text))[:LONGEST_WORD]


def name_key(name: str) -> str:
    """What a name or a number is told apart by: case and the kind of blanks do not count, all else does."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def indexed(fields: Iterable[tuple[str, str]]) -> str:
    """What is put into the index of words.

    Parameters
    ----------
    fields : iterable of (str, str)
        Name, in ASCII letters, and text; every word is found by itself and under the name. A text without a name is
        found by itself only.

    Returns
    -------
    str
        Words in their order, with a blank between them.
    """
    found: dict[str, None] = {}
    for name, text in fields:
        for word in {**dict.fromkeys(words_of(text)), joined(text): None} if name else words_of(text):
            if word:
                found[word] = None
                if name:
                    found[_start(name) + word] = None
    return " ".join(list(found)[:MOST_WORDS])


def sought(text: str, name: str = "") -> tuple[tuple[str, ...], ...]:
    """Which beginnings of words are looked for.

    Parameters
    ----------
    text : str
        As a person typed it.
    name : str
        Of the field that is searched; empty for all.

    Returns
    -------
    tuple of tuple of str
        Alternatives: every one of the beginnings of any of them has to occur. Empty if there is nothing to be
        looked for.
    """
    start = _start(name)
    words = tuple(start + word for word in dict.fromkeys(words_of(text)))
    whole = (start + joined(text),)
    if not words:
        return ()
    return (words,) if words == whole else (words, whole)


def _start(name: str) -> str:
    return (
        f"_{name}_" if name else ""
    )  # no word of a text begins with an underscore, so none finds a field's name
