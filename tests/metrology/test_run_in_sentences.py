import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from tensionear.metrology.decision import Decision, Side, Verdict
from tensionear.metrology.run_in import CountedPlucks, RunIn, judge_run_in
from tensionear.metrology.run_in_sentences import (
    further_sentence,
    levelling_sentence,
    recheck_sentence,
    run_in_sentence,
    setting_sentence,
)
from tensionear.metrology.settling_law import FurtherFall
from tensionear.metrology.tension_change import SettingPlucks, TensionLimits
from tensionear.metrology.uncertainty import Measured

# Invented belts, in newtons.
SETTLED = (500.0, 440.0, 410.0, 396.0, 395.5, 395.6)
LIMITS = TensionLimits(330, 380, common_share=0.012)


def plucks(tension_n: float, n: int = 3, scatter_share: float = 0.002) -> tuple[Measured, ...]:
    steps = np.linspace(-1, 1, n) if n > 1 else np.zeros(1)
    logs = steps * (scatter_share / steps.std(ddof=1) if n > 1 else 0)
    return tuple(Measured(float(each), 0.3) for each in tension_n * np.exp(logs))


def judged(
    tensions_n: Sequence[float] = SETTLED,
    final_n: float | None = None,
    rechecks_n: Sequence[float] = (),
    *,
    n: int = 3,
    scatter_share: float = 0.002,
    first: float = 0.0,
    step: float = 2.0,
    limits: TensionLimits | None = LIMITS,
    decision: Decision | None = None,
) -> RunIn:
    counted = [
        CountedPlucks(first + step * i, plucks(each, n, scatter_share)) for i, each in enumerate(tensions_n)
    ]
    final = None if final_n is None else SettingPlucks(plucks(final_n, 5), decision)
    rechecks = [SettingPlucks(plucks(each, 5)) for each in rechecks_n]
    return judge_run_in(counted, final, rechecks, common_share=0.012, limits=limits)


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        (
            judged(final_n=343),
            "fell 21 % in run-in, level since the sixth revolution; final 3.9 % above the band's lower limit",
        ),
        (judged(), "fell 21 % in run-in, level since the sixth revolution"),
        (judged(SETTLED[:4]), "fell 21 % in run-in, still falling at the sixth revolution"),
        (judged((400, 400.2, 399.9)), "no fall told in run-in (0.03 % ± 0.40 %), level all through"),
        (
            judged((400, 410)),
            "rose 2.5 % in run-in, which settling does not do, whether it is level cannot be told yet",
        ),
        (judged(n=1), "fell 21 % in run-in, whether it is level cannot be told yet"),
        (
            judged(n=2, scatter_share=0.01, final_n=343, limits=None),
            "fell 21 % in run-in, whether it is level could not be told",
        ),
        (
            judged(SETTLED, first=1.0, step=0.5),
            "fell 21 % from the first revolution to 3.5 revolutions, level since 2.5 revolutions",
        ),
        (judged(SETTLED, step=7.0), "fell 21 % in run-in, level since the 21st revolution"),
        (judged(()), "run-in not judged: plucked at fewer than two counts of revolutions"),
        (
            judged((400,), final_n=343),
            "run-in not judged: plucked at fewer than two counts of revolutions; "
            "final 3.9 % above the band's lower limit",
        ),
    ],
)
def test_run_in_is_told_in_a_plain_sentence(given: RunIn, sentence: str) -> None:
    assert run_in_sentence(given) == sentence


@pytest.mark.parametrize(
    ("final_n", "limits", "clause"),
    [
        (343, LIMITS, "final 3.9 % above the band's lower limit"),
        (366, LIMITS, "final 3.7 % below the band's upper limit"),
        (345, TensionLimits(330, math.inf, 0.012), "final 4.5 % above the band's lower limit"),
        (345, TensionLimits(-math.inf, 380, 0.012), "final 9.2 % below the band's upper limit"),
        (310, LIMITS, "final 6.1 % below the band's lower limit"),
        (420, LIMITS, "final 11 % above the band's upper limit"),
        (333, LIMITS, "final cannot be told from the band's lower limit (0.9 % above it, ± 2.4 %)"),
        (328, LIMITS, "final cannot be told from the band's lower limit (0.6 % below it, ± 2.3 %)"),
        (376, LIMITS, "final cannot be told from the band's upper limit (1.1 % below it, ± 2.3 %)"),
        (385, LIMITS, "final cannot be told from the band's upper limit (1.3 % above it, ± 2.4 %)"),
        (335, TensionLimits(332, 338, 0.012), "final cannot be told from either limit of the band"),
    ],
)
def test_final_setting_is_told_against_its_band(final_n: float, limits: TensionLimits, clause: str) -> None:
    assert run_in_sentence(judged(final_n=final_n, limits=limits)).split("; ")[1] == clause


@pytest.mark.parametrize(
    ("final_n", "decision"),
    [
        (345, Decision(Verdict.OUT_OF_BAND, Side.LOW)),
        (345, Decision(Verdict.OUT_OF_BAND, Side.HIGH)),
        (320, Decision(Verdict.IN_BAND, None)),
        (400, Decision(Verdict.IN_BAND, None)),
    ],
)
def test_a_verdict_that_the_margin_contradicts_is_told_without_a_figure(
    final_n: float, decision: Decision
) -> None:
    told = run_in_sentence(judged(final_n=final_n, decision=decision))
    assert told.endswith(f"; final {decision.verdict}")


@pytest.mark.parametrize(
    ("recheck_n", "clause"),
    [
        (
            336,
            "re-check 2 % lower than final, "
            "now cannot be told from the band's lower limit (1.8 % above it, ± 2.4 %)",
        ),
        (343.1, "re-check tells no change from final (0.03 % ± 0.26 %), 4 % above the band's lower limit"),
        (350, "re-check 2 % higher than final, 6.1 % above the band's lower limit"),
    ],
)
def test_the_last_recheck_is_told_against_the_final_setting(recheck_n: float, clause: str) -> None:
    found = judged(final_n=343, rechecks_n=(342, recheck_n))
    assert run_in_sentence(found).split("; ")[-1] == clause
    assert recheck_sentence(found.rechecks[-1]) == clause


def test_a_recheck_without_limits_is_told_by_itself() -> None:
    found = judged(final_n=343, rechecks_n=(336,), limits=None)
    assert recheck_sentence(found.rechecks[0]) == "re-check 2 % lower than final"


def test_level_says_how_much_it_may_have_fallen_at_most() -> None:
    # By hand: ln(396/395.6) = 0.101 %, and 1.782·0.2 %·√(2/3) = 0.291 %.
    assert levelling_sentence(judged()) == (
        "level: from the sixth revolution to the tenth revolution no fall shows; "
        "if it fell there, by no more than 0.4 % in all"
    )


def test_falling_says_by_how_much_a_revolution() -> None:
    # By hand: ln(410/396)/2 = 1.737 %; 2.306 (Student, 8 degrees)·0.2 %·√(2/3)/2 = 0.188 %.
    assert levelling_sentence(judged(SETTLED[:4])) == (
        "still falling: from the fourth revolution to the sixth revolution by 1.74 % ± 0.19 % a revolution"
    )


@pytest.mark.parametrize(
    ("given", "ending"),
    [
        (
            judged((500, 440, 396, 395.6), n=2, scatter_share=0.0045),
            "; 1 more pluck now would tell, if the means stay as they are",
        ),
        (
            judged((500, 440, 396, 393), n=2, scatter_share=0.008),
            "; 9 plucks here, and as many after further revolutions, as far as the manufacturer's procedure permits "
            "them, would tell in four cases of five",
        ),
        (
            judged((500, 440, 396, 395), n=2, scatter_share=0.03),
            "; 20 plucks would not tell either: they scatter too much",
        ),
        (judged(n=1), "; pluck at least twice at each count"),
        (
            judged((500, 490, 496)),
            "; bring the crankshaft to the same mark each time, look at the tensioner, and pluck again",
        ),
        (judged((500,)), "; pluck again after turning"),
        (judged((500,), final_n=343), "two counts of revolutions"),
        (judged(n=2, scatter_share=0.01, final_n=343), "hidden in the scatter of the plucks"),
    ],
)
def test_not_told_says_what_would_tell_as_long_as_it_can(given: RunIn, ending: str) -> None:
    told = levelling_sentence(given)
    assert told.startswith("not told: ")
    assert told.endswith(ending)


def test_more_plucks_are_plural() -> None:
    found = judged()
    three = replace(found, levelling=replace(judged(n=2, scatter_share=0.01).levelling, n_more_plucks=3))
    assert "; 3 more plucks now would tell" in levelling_sentence(three)


def further(plateau_probability: float, final_n: float | None = None) -> RunIn:
    found = judged([400 + 100 * math.exp(-x / 5) for x in range(0, 12, 2)], final_n)
    return replace(found, further=FurtherFall(10.0, Measured(0.02, 0.005), plateau_probability))


@pytest.mark.parametrize(
    ("plateau_probability", "ending"),
    [
        (0.95, ", if it goes on towards a plateau as it did"),
        (0.05, ", if it goes on slowing down as it did, without an end"),
        (0.5, "; whether the fall has an end cannot be told"),
    ],
)
def test_further_fall_says_by_which_law(plateau_probability: float, ending: str) -> None:
    told = further_sentence(further(plateau_probability))
    assert told == f"10 more revolutions would bring a further fall of 1.98 % ± 0.96 %{ending}"


def test_further_fall_says_where_the_final_tension_would_be() -> None:
    assert "; final then " in further_sentence(further(0.95, final_n=360))
    assert further_sentence(further(0.95, final_n=360)).endswith("the band's lower limit")


def test_no_forecast_says_why() -> None:
    assert further_sentence(judged(SETTLED[:3])) == (
        "what more revolutions would bring cannot be told: plucked at fewer than four counts of revolutions"
    )


@pytest.mark.parametrize(
    ("final_n", "words"),
    [
        (343, "lowered the tension by 13.30 % ± 0.27 %"),
        (430, "raised the tension by 8.70 % ± 0.34 %"),
        (395.5, "changed the tension by -0.03 % ± 0.31 %"),
    ],
)
def test_the_step_of_the_tensioner_is_told_apart(final_n: float, words: str) -> None:
    # By hand, of the first: (343/395.6)·0.2 %·√(1/3 + 1/5)·2.120 (Student, 16 degrees) = 0.27 %.
    found = judged(final_n=final_n)
    assert found.by_setting is not None
    told = setting_sentence(found.by_setting)
    assert told == f"the final setting of the tensioner {words}; this is no settling"


@pytest.mark.parametrize(
    ("step", "ordinal"), [(4 / 3, "fourth"), (4, "twelfth"), (5, "15th"), (37, "111th"), (101 / 3, "101st")]
)
def test_revolutions_are_ordinal_numbers(step: float, ordinal: str) -> None:
    found = judged(SETTLED, step=step)
    assert run_in_sentence(found).endswith(f"level since the {ordinal} revolution")
