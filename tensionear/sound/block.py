"""The one shape in which sound travels.

Conventions: samples are float32 in [-1, 1], full scale 1; a sample's number counts from the first sample
of its source and never restarts; channels are numbered from 1, as on a sound card.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class SoundBlock:
    """A stretch of sound.

    Attributes
    ----------
    samples : array of float32, shape (n_frames, n_channels)
        The sound; full scale is 1. The receiver may keep it: no one writes to it again.
    first_frame : int
        Number of the first frame on the source's clock.
    n_lost_before : int
        Frames that were lost directly before this block (their numbers are skipped). Not 0 means that what
        comes now does not follow from what came before.
    """

    samples: NDArray[np.float32]
    first_frame: int
    n_lost_before: int = 0


class SoundSource(Protocol):
    """What every source of sound offers to the pipeline."""

    @property
    def name(self) -> str:
        """A name that a person recognises: a file's name, a microphone's name."""

    @property
    def sample_rate_hz(self) -> float:
        """Frames per second, as the source claims. [Hz]"""

    @property
    def n_channels(self) -> int:
        """Channels in every block."""

    def blocks(self) -> Iterator[SoundBlock]:
        """Yield the sound in order, until it ends or the source is closed.

        Raises
        ------
        RecordingError, DeviceError
            If the sound cannot go on.
        """
