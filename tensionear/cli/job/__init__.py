"""``tensionear job``: a job from opening to closing, pass by pass, kept in an archive as it goes."""

import click

from tensionear.cli.lazy_group import LazyGroup

SUMMARIES = {
    "open": "Open a job with a setup.",
    "next": "Say what is to be done now.",
    "cautions": "Show the cautions of a job, and acknowledge them.",
    "listen": "Read the plucks of a pass as a microphone hears them.",
    "read": "Read the plucks of a pass from recordings.",
    "end-pass": "End the pass that goes on.",
    "tools-out": "Note that the locking tools are out.",
    "turn": "Note that the engine was turned over by hand.",
    "top-dead-centre": "Note that the engine is at top dead centre, all marks aligned.",
    "skip": "Leave a step out, and say why.",
    "tick": "Tick a line of the checklist.",
    "note": "Add a note.",
    "photo": "Add a photo.",
    "strike-out": "Let a pluck not count, and say why.",
    "reinstate": "Let a pluck that was struck out count again.",
    "correct": "Correct a detail of a job, and say why.",
    "take-setup": "Go by another setup, or another version, from now on.",
    "close": "Close a job.",
    "delete": "Put a job away.",
    "restore": "Bring a deleted job back.",
    "show": "Show a job: passes, plucks, verdicts, and what is next.",
    "log": "Show every entry of a job's log.",
    "list": "List jobs, the newest first, or those that have some words.",
}

_MODULES = {
    **dict.fromkeys(("open", "take-setup", "close", "delete", "restore"), "opening"),
    **dict.fromkeys(
        ("next", "cautions", "end-pass", "tools-out", "turn", "top-dead-centre", "skip", "tick"), "steps"
    ),
    **dict.fromkeys(("listen", "read"), "hearing"),
    **dict.fromkeys(("note", "photo", "strike-out", "reinstate", "correct"), "additions"),
    **dict.fromkeys(("show", "log", "list"), "looking"),
}

EPILOG = """\b
Example:
  tensionear job open --setup "invented four" --number 17 --vehicle "invented van"
  tensionear job cautions 17 --acknowledge
  tensionear job listen 17
  tensionear job next 17

JOB is a job's number; it may be left out where exactly one job is open. Nothing of a job is ever overwritten: a
pluck is struck out, a detail corrected, a pass done again, each with its reason, and what was there before stays.
"""


@click.group(cls=LazyGroup, package=__name__, summaries=SUMMARIES, modules=_MODULES, epilog=EPILOG)
def command() -> None:
    """Do a job pass by pass, and keep it.

    Over-tension, locking tools out, turning over by hand, top dead centre, final setting, and a re-check at any later
    time. Every pluck is kept with its sound before its reading is shown, so that a job that was broken off goes on
    where it was.
    """
