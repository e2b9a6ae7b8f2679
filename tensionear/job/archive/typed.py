"""Lines that people type beside what they do: who they are, and why."""

from pydantic import TypeAdapter, ValidationError

from tensionear.errors import InputError
from tensionear.job.document import Line
from tensionear.job.validation import faults_of

_LINE: TypeAdapter[str] = TypeAdapter(Line)


def typed_line(what: str, given: str) -> str:
    """Let a line pass that can be kept, without blanks about it.

    Parameters
    ----------
    what : str
        For the message.
    given : str
        As it was typed.

    Raises
    ------
    InputError
        If it is too long or has characters that no one can see.
    """
    try:
        return _LINE.validate_python(given)
    except ValidationError as error:
        raise InputError(f"{what}: {faults_of(error)}") from error


def typed_reason(question: str, given: str) -> str:
    """Let a reason pass that says something.

    Parameters
    ----------
    question : str
        What it is the answer to.
    given : str
        As it was typed.

    Raises
    ------
    InputError
        If there is none, or it cannot be kept.
    """
    reason = typed_line("reason", given)
    if not reason:
        raise InputError(f"{question} A reason is needed, and kept in the archive")
    return reason
