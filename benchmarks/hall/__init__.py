"""Sound of a hall in which nobody plucks a belt: whatever is read in it is a false reading."""

from benchmarks.hall.scenes import SCENES, Piece, sound_of

__all__ = ["SCENES", "Piece", "sound_of"]
