"""Does sound still come? A microphone that hangs raises no error: only its silence on the clock tells."""

LONGEST_PAUSE_S = 2.0
"""A device that delivers nothing for longer has stalled. [s]"""

LONGEST_START_S = 5.0
"""Until its first sound it may take longer: a wireless headset changes its mode, a sound server wakes. [s]"""


class StallWatch:
    """Tells when no frames have come for too long.

    Parameters
    ----------
    started_s : float
        When the device was started. [s]
    """

    def __init__(self, started_s: float) -> None:
        self._n_frames = 0
        self._last_s = started_s

    def see(self, time_s: float, n_frames: int) -> float | None:
        """Take note that by `time_s` there were `n_frames`.

        Parameters
        ----------
        time_s : float
            On the same clock as `started_s`. [s]
        n_frames : int
            Frames since the beginning.

        Returns
        -------
        float or None
            For how long nothing has come, if that is too long; else None. [s]
        """
        if n_frames != self._n_frames:
            self._n_frames = n_frames
            self._last_s = time_s
            return None
        pause_s = time_s - self._last_s
        longest_s = LONGEST_PAUSE_S if n_frames else LONGEST_START_S
        return pause_s if pause_s > longest_s else None
