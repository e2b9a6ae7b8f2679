"""A setup in a file of its own, to be taken to another archive, kept in a folder, or written by hand.

JSON with ``kind``, ``format_version`` and ``setup``; its schema is ``docs/schemas/setup-1.schema.json``. What is read
may have been written by anyone.
"""

import json
from pathlib import Path
from typing import Any, Literal

from pydantic import ValidationError

from tensionear.errors import InputError
from tensionear.job.document import Document
from tensionear.job.setup import Setup
from tensionear.job.validation import faults_of
from tensionear.job.whole_file import write_whole_file

FILE_KIND = "setup"
FILE_FORMAT_VERSION = 1
LARGEST_FILE_BYTES = 1_000_000
"""A setup takes some thousands; a recording that was given by mistake more."""


class SetupFile(Document):
    """What a setup's file holds."""

    kind: Literal["setup"]
    format_version: Literal[1]
    setup: Setup


def setup_file_schema() -> dict[str, Any]:
    """JSON Schema of a setup's file."""
    schema = SetupFile.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "setup, version 1"}


def write_setup(path: Path, setup: Setup, *, overwrite: bool = False) -> None:
    """Write a setup to a file, whole or not at all.

    Raises
    ------
    InputError
        If there is such a file already and it may not be replaced, or it cannot be written.
    """
    content = SetupFile(kind="setup", format_version=1, setup=setup)
    text = json.dumps(content.model_dump(mode="json"), indent=2, ensure_ascii=False, allow_nan=False)
    write_whole_file(path, [f"{text}\n".encode()], overwrite=overwrite)


def read_setup(path: Path) -> Setup:
    """Read a setup from a file.

    Raises
    ------
    InputError
        If it cannot be read, is too large, no JSON, of another kind or a newer program, or holds what cannot be
        meant; the message names the field, the value and the limit.
    """
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_FILE_BYTES + 1)
    except (OSError, ValueError) as error:  # ValueError: a null character in the name
        reason = getattr(error, "strerror", None) or error
        raise InputError(f"setup file {path} cannot be read ({reason}): is the name right?") from error
    try:
        return setup_from(raw)
    except InputError as error:
        raise InputError(f"setup file {path}: {error}") from error


def setup_from(raw: bytes) -> Setup:
    """Read a setup from the bytes of a file.

    Raises
    ------
    InputError
        As `read_setup`.
    """
    if len(raw) > LARGEST_FILE_BYTES:
        raise InputError(f"it has more than {LARGEST_FILE_BYTES} bytes: is it the right file?")
    try:
        text = raw.decode("utf-8-sig")
        content = json.loads(text, object_pairs_hook=_each_name_once)
    except InputError:
        raise
    except (ValueError, RecursionError) as error:
        raise InputError(f'it is no JSON ({error}): write one with "tensionear setup export"') from error
    if not isinstance(content, dict) or content.get("kind") != FILE_KIND:
        raise InputError('its kind is not "setup": is it the right file?')
    version = content.get("format_version")
    if version != FILE_FORMAT_VERSION:
        raise InputError(
            f"its format_version is {version!r}, this program reads {FILE_FORMAT_VERSION}: is it from a newer one?"
        )
    try:  # strictly: a number in quotes, or true for 1, was not meant
        return SetupFile.model_validate_json(text, strict=True).setup
    except ValidationError as error:
        raise InputError(faults_of(error)) from error


def _each_name_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    named = dict(pairs)
    if len(named) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in named if names.count(name) > 1)
        raise InputError(f"{twice} stands twice in one object: which one holds?")
    return named
