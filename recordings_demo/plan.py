"""What the demo recordings hold: an invented job, pass by pass, and the hard cases.

Engine, belt and specification are invented; no value here may be used on anything real.
"""

from dataclasses import dataclass

ENGINE = "Invented engine 'Example Four'"
BELT = "Invented timing belt 'Example Belt', 25 mm wide"
SPECIFICATION = "Invented specification 'Example Sheet 1'"

SPAN_LENGTH_M = 0.213
LINEAR_DENSITY_KG_PER_M = 0.165
BENDING_STIFFNESS_N_M2 = 0.006
AXIAL_STIFFNESS_N = 9e4
END_SPRINGS_N_M = (2.0, 5.0)
QUALITY = 24.0
NEIGHBOUR_LENGTH_M = 0.157

OVER_TENSION_BAND_N = (600.0, 760.0)
FINAL_BAND_N = (380.0, 460.0)


@dataclass(frozen=True)
class PlannedPluck:
    """One pluck of a recording.

    Attributes
    ----------
    tension_n : float
        Static tension. [N]
    amplitude_m : float
        How far the finger pulls the span. [m]
    revolutions : int or None
        Turns of the engine by hand before it.
    neighbour_db : float or None
        How loud the neighbour span answers, its power over the plucked one's. [dB]
    """

    tension_n: float
    amplitude_m: float = 0.9e-3
    revolutions: int | None = None
    neighbour_db: float | None = None


@dataclass(frozen=True)
class PlannedRecording:
    """One recording.

    Attributes
    ----------
    name : str
        File name without its ending.
    about : str
        What happens in it, for people.
    expected : str
        What a good reading makes of it.
    seed : int
        All its chance comes from this.
    plucks : tuple of PlannedPluck
        In order.
    band_n : tuple of two floats or None
        Tolerance band that the invented specification gives for it, for the flexible-span tension. [N]
    expected_verdict : str or None
        Of the plucks together, against that band.
    sample_rate_hz : int
        [Hz]
    snr_db : float
        Ring over background noise, as the simulator defines it. [dB]
    hum_db, clank_db : float or None
        Power of 50 Hz hum over the ring's, loudest clank's peak over the ring's. [dB]
    microphone : tuple of float and int
        Corner [Hz] and order of the microphone's roll-off.
    peak : float
        Highest peak, full scale 1; above 1 the converter clips.
    dead_channel : bool
        Stereo, the first channel all but dead.
    """

    name: str
    about: str
    expected: str
    seed: int
    plucks: tuple[PlannedPluck, ...]
    band_n: tuple[float, float] | None = None
    expected_verdict: str | None = None
    sample_rate_hz: int = 48000
    snr_db: float = 32.0
    hum_db: float | None = None
    clank_db: float | None = None
    microphone: tuple[float, int] = (20.0, 1)
    peak: float = 0.4
    dead_channel: bool = False


PASSES = (
    PlannedRecording(
        name="over-tension",
        about="The new belt is over-tensioned so that its teeth seat in the pulleys.",
        expected="five readings; the tension lies within the over-tension band",
        seed=101,
        plucks=tuple(PlannedPluck(tension_n) for tension_n in (650.0, 648.1, 651.2, 649.4, 648.7)),
        band_n=OVER_TENSION_BAND_N,
        expected_verdict="in band",
    ),
    PlannedRecording(
        name="run-in",
        about="The engine is turned by hand, two revolutions between plucks; the belt seats and slackens.",
        expected="five readings, each lower than the one before",
        seed=102,
        plucks=(
            PlannedPluck(644.0, revolutions=0),
            PlannedPluck(604.0, revolutions=2),
            PlannedPluck(583.0, revolutions=4),
            PlannedPluck(571.0, revolutions=6),
            PlannedPluck(565.0, revolutions=8),
        ),
    ),
    PlannedRecording(
        name="final-setting",
        about="At top dead centre again, the tensioner is set to its final mark.",
        expected="five readings; the tension lies within the final band",
        seed=103,
        plucks=tuple(PlannedPluck(tension_n) for tension_n in (402.0, 403.2, 401.1, 402.6, 401.8)),
        band_n=FINAL_BAND_N,
        expected_verdict="in band",
    ),
    PlannedRecording(
        name="re-check",
        about="The span is plucked again after a day; it has settled a little.",
        expected="five readings; a little lower than at the final setting, still within the final band",
        seed=104,
        plucks=tuple(PlannedPluck(tension_n) for tension_n in (395.0, 394.2, 395.9, 395.1, 394.5)),
        band_n=FINAL_BAND_N,
        expected_verdict="in band",
    ),
)

HARD_CASES = (
    PlannedRecording(
        name="hum",
        about="Mains hum as loud as the belt, and the span rings close to twice the mains frequency.",
        expected="each pluck read within 0.5 % or refused; the hum itself never read",
        seed=201,
        plucks=tuple(PlannedPluck(tension_n) for tension_n in (268.5, 278.5, 290.0, 301.5)),
        hum_db=0.0,
    ),
    PlannedRecording(
        name="clanks",
        about="Tools are dropped and parts struck while the span is plucked.",
        expected="each pluck read within 0.5 % or refused; no clank read",
        seed=202,
        plucks=tuple(PlannedPluck(tension_n) for tension_n in (402.0, 402.8, 401.6, 402.3)),
        clank_db=6.0,
    ),
    PlannedRecording(
        name="phone-microphone",
        about="A telephone's microphone, which all but loses the fundamental.",
        expected="each pluck read at its fundamental, not at a partial, within 0.5 % or refused",
        seed=203,
        plucks=tuple(PlannedPluck(tension_n, 1.2e-3) for tension_n in (224.0, 224.6, 223.5, 224.2)),
        sample_rate_hz=44100,
        microphone=(210.0, 4),
        snr_db=26.0,
    ),
    PlannedRecording(
        name="too-hard",
        about="Plucked harder each time: the pitch glides down, and the last ones overdrive the microphone.",
        expected="small-amplitude fundamental read within 0.5 % or refused",
        seed=204,
        plucks=tuple(
            PlannedPluck(402.0, amplitude_m) for amplitude_m in (1.2e-3, 2.2e-3, 3e-3, 4.2e-3, 4.8e-3)
        ),
        peak=1.5,
    ),
    PlannedRecording(
        name="two-spans",
        about="The neighbour span of the same belt answers, louder each time.",
        expected="each pluck read within 0.5 % of the plucked span or refused; the neighbour never read",
        seed=205,
        plucks=tuple(
            PlannedPluck(402.0, neighbour_db=level_db) for level_db in (-20.0, -14.0, -9.0, -5.0, -2.0)
        ),
    ),
    PlannedRecording(
        name="dead-channel",
        about="A stereo recording whose first channel is all but dead.",
        expected="each pluck read from the second channel",
        seed=206,
        plucks=tuple(PlannedPluck(tension_n) for tension_n in (395.0, 394.5, 395.4)),
        dead_channel=True,
    ),
)
