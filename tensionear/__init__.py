"""tensionear: hears the static tension of a timing-belt span from the sound of a pluck."""

__version__ = "0.1.0"
