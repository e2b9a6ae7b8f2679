"""``tensionear key``: made once, never replaced, and its password never on the command line."""

import hashlib
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat, load_pem_public_key

from tests.cli.command import Tensionear

TYPED = "an invented password"


def test_a_key_pair_is_made_and_both_keys_show_one_fingerprint(tensionear: Tensionear) -> None:
    made = tensionear("key", "make", "workshop.pem", "--json")
    assert made.code == 0
    (line,) = made.of_kind("key")
    public = load_pem_public_key(Path("workshop-public.pem").read_bytes())
    raw = public.public_bytes(Encoding.Raw, PublicFormat.Raw)
    assert line["public_key"] == raw.hex()
    assert line["fingerprint"].replace(" ", "") == hashlib.sha256(raw).hexdigest()
    assert line["is_protected"] is False
    for path in ("workshop.pem", "workshop-public.pem"):
        assert (
            tensionear("key", "show", path, "--json").of_kind("key")[0]["fingerprint"] == line["fingerprint"]
        )


def test_what_a_key_without_a_password_means_is_said(tensionear: Tensionear) -> None:
    told = " ".join(tensionear("key", "make", "workshop.pem").out.split())
    assert "not protected by a password: whoever gets hold of the file" in told
    assert "compare the fingerprint with you in another way" in told


def test_a_key_is_never_replaced(tensionear: Tensionear) -> None:
    tensionear("key", "make", "workshop.pem")
    before = Path("workshop.pem").read_bytes()
    told = tensionear("key", "make", "workshop.pem")
    assert told.code == 2
    assert "is there already" in told.err
    assert Path("workshop.pem").read_bytes() == before


def test_a_password_comes_from_the_environment_and_is_needed(
    tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    without = tensionear("key", "make", "workshop.pem", "--password")
    assert without.code == 2
    assert "TENSIONEAR_KEY_PASSWORD" in without.err
    assert not Path("workshop.pem").exists()
    monkeypatch.setenv("TENSIONEAR_KEY_PASSWORD", TYPED)
    assert tensionear("key", "make", "workshop.pem", "--password").code == 0
    assert b"ENCRYPTED" in Path("workshop.pem").read_bytes()
    assert tensionear("key", "show", "workshop.pem", "--json").of_kind("key")[0]["is_protected"] is True
    monkeypatch.setenv("TENSIONEAR_KEY_PASSWORD", "another")
    wrong = tensionear("key", "show", "workshop.pem")
    assert wrong.code == 2
    assert "is the password right?" in wrong.err


def test_a_password_is_asked_for_at_a_terminal(
    tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[dict[str, object]] = []

    def prompt(_: str, **named: object) -> str:
        asked.append(named)
        return TYPED

    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("click.prompt", prompt)
    assert tensionear("key", "make", "workshop.pem", "--password").code == 0
    assert tensionear("key", "show", "workshop.pem").code == 0
    assert [each["confirmation_prompt"] for each in asked] == [True, False]
    assert all(each["hide_input"] and each["err"] for each in asked)


@pytest.mark.parametrize(
    "command", [("key", "make"), ("key", "show"), ("record", "make"), ("record", "again")]
)
def test_no_option_takes_a_password(tensionear: Tensionear, command: tuple[str, str]) -> None:
    told = tensionear(*command, "--password=invented", "workshop.pem")
    assert told.code == 2
    assert not Path("workshop.pem").exists()


def test_what_is_no_key_is_told(tensionear: Tensionear) -> None:
    Path("letter.pem").write_text("a letter", "utf-8")
    assert "holds no public key" in tensionear("key", "show", "letter.pem").err
    assert tensionear("key", "show", "gone.pem").code == 2
