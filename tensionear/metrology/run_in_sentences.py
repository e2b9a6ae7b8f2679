"""A run-in in plain words: the one sentence of a job's record, and what stands behind it."""

import math

from tensionear.metrology.advice import MOST_PLUCKS
from tensionear.metrology.decision import Side, Verdict
from tensionear.metrology.levelling import LevelState, NotToldReason
from tensionear.metrology.run_in import RunIn
from tensionear.metrology.settling_law import NoForecast, SettlingLaw
from tensionear.metrology.tension_change import LimitMargin, ReCheck, TensionFall
from tensionear.metrology.uncertainty import Measured

_ORDINALS = (
    "first", "second", "third", "fourth", "fifth", "sixth",
    "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth",
)  # fmt: skip


def run_in_sentence(run_in: RunIn) -> str:
    """How far the tension fell, whether it is level, where the final setting and the last re-check stand.

    Parameters
    ----------
    run_in : RunIn
        From `judge_run_in`.

    Returns
    -------
    str
        Such as "fell 21 % in run-in, level since the sixth revolution; final 4 % above the band's lower limit".
    """
    clauses = [_settling(run_in)]
    if run_in.final_margin:
        clauses.append(f"final {_against_band(run_in.final_margin)}")
    if run_in.rechecks:
        clauses.append(recheck_sentence(run_in.rechecks[-1]))
    return "; ".join(clauses)


def levelling_sentence(run_in: RunIn) -> str:
    """What the answer to whether the tension is level rests on, or what would tell.

    Parameters
    ----------
    run_in : RunIn
        From `judge_run_in`.
    """
    level = run_in.levelling
    if run_in.per_revolution_percent is None or run_in.stretch_start_revolutions is None:
        return f"not told: {level.reason}" + _more_if_open(run_in, "pluck again after turning")
    stretch = f"from {_at(run_in.stretch_start_revolutions)} to {_at(run_in.revolutions[-1])}"
    most = f"by no more than {_percent(100 * (level.largest_fall_share or 0.0))} in all"
    match level.state:
        case LevelState.LEVEL:
            return f"level: {stretch} no fall shows; if it fell there, {most}"
        case LevelState.FALLING:
            return f"still falling: {stretch} by {_plus_minus(run_in.per_revolution_percent)} a revolution"
        case LevelState.NOT_TOLD:
            return f"not told: {level.reason}{_advice(run_in)}"


def further_sentence(run_in: RunIn) -> str:
    """What as many revolutions again would bring, as a sentence.

    Parameters
    ----------
    run_in : RunIn
        From `judge_run_in`.
    """
    further = run_in.further
    if isinstance(further, NoForecast):
        return f"what more revolutions would bring cannot be told: {further}"
    share = further.fall_share
    percent = Measured(100 * share.value, 100 * share.standard_uncertainty, share.degrees_of_freedom)
    told = f"{further.revolutions:g} more revolutions would bring a further fall of {_plus_minus(percent)}"
    match further.law:
        case SettlingLaw.PLATEAU:
            told += ", if it goes on towards a plateau as it did"
        case SettlingLaw.LOGARITHM:
            told += ", if it goes on slowing down as it did, without an end"
        case None:
            told += "; whether the fall has an end cannot be told"
    if run_in.final_margin_after_further:
        told += f"; final then {_against_band(run_in.final_margin_after_further)}"
    return told


def setting_sentence(fall: TensionFall) -> str:
    """What moving the tensioner to its final setting did.

    Parameters
    ----------
    fall : TensionFall
        `RunIn.by_setting`.
    """
    changed = "changed" if not fall.is_significant else "lowered" if fall.fall_percent.value > 0 else "raised"
    figure = fall.fall_percent if changed == "lowered" else _turned(fall.fall_percent)
    return f"the final setting of the tensioner {changed} the tension by {_plus_minus(figure)}; this is no settling"


def recheck_sentence(recheck: ReCheck) -> str:
    """What a re-check says against the final setting, and where it stands.

    Parameters
    ----------
    recheck : ReCheck
        One of `RunIn.rechecks`.
    """
    fall = recheck.fall.fall_percent
    if recheck.fall.is_significant:
        told = f"re-check {_percent(fall.value)} {'lower' if fall.value > 0 else 'higher'} than final"
    else:
        told = f"re-check tells no change from final ({_plus_minus(_turned(fall))})"
    if recheck.margin:
        nearer = "now " if recheck.approaches_lower else ""
        told += f", {nearer}{_against_band(recheck.margin)}"
    return told


def _settling(run_in: RunIn) -> str:
    fall = run_in.fall
    if fall is None:
        return f"run-in not judged: {run_in.levelling.reason}"
    first = run_in.revolutions[0]
    where = "in run-in" if first == 0 else f"from {_at(first)} to {_at(run_in.revolutions[-1])}"
    if not fall.is_significant:
        told = f"no fall told {where} ({_plus_minus(fall.fall_percent)})"
    elif fall.fall_percent.value > 0:
        told = f"fell {_percent(fall.fall_percent.value)} {where}"
    else:
        told = f"rose {_percent(fall.fall_percent.value)} {where}, which settling does not do"
    return f"{told}, {_level_words(run_in)}"


def _level_words(run_in: RunIn) -> str:
    since = run_in.levelling.level_since_revolutions
    match run_in.levelling.state:
        case LevelState.LEVEL:
            whole = since is None or since == run_in.revolutions[0]
            return "level all through" if whole else f"level since {_at(since or 0.0)}"
        case LevelState.FALLING:
            return f"still falling at {_at(run_in.revolutions[-1])}"
        case LevelState.NOT_TOLD:
            return f"whether it is level {'could not be told' if run_in.final_tension_n else 'cannot be told yet'}"


def _advice(run_in: RunIn) -> str:
    level = run_in.levelling
    if level.reason is NotToldReason.ROSE:
        told = "bring the crankshaft to the same mark each time, look at the tensioner, and pluck again"
    elif level.n_more_plucks:
        plural = "s" if level.n_more_plucks > 1 else ""
        told = f"{level.n_more_plucks} more pluck{plural} now would tell, if the means stay as they are"
    elif level.n_plucks_after_more:
        told = (
            f"{level.n_plucks_after_more} plucks here, and as many after further revolutions, as far as the "
            "manufacturer's procedure permits them, would tell in four cases of five"
        )
    elif run_in.repeatability is None:
        told = "pluck at least twice at each count"
    else:
        told = f"{MOST_PLUCKS} plucks would not tell either: they scatter too much"
    return _more_if_open(run_in, told)


def _more_if_open(run_in: RunIn, advice: str) -> str:
    """Advice only while the belt is still in run-in: after the final setting its old state is gone."""
    return "" if run_in.final_tension_n else f"; {advice}"


def _against_band(margin: LimitMargin) -> str:
    above, below = margin.above_lower_percent, margin.below_upper_percent
    decision = margin.decision
    if decision.verdict is Verdict.OUT_OF_BAND:
        if decision.side is Side.LOW and above and above.value < 0:
            return f"{_percent(above.value)} below the band's lower limit"
        if decision.side is Side.HIGH and below and below.value < 0:
            return f"{_percent(below.value)} above the band's upper limit"
        return str(decision.verdict)
    if decision.verdict is Verdict.UNDECIDED:
        if decision.side is Side.LOW and above:
            return f"cannot be told from the band's lower limit ({_beside(above, 'above', 'below')})"
        if decision.side is Side.HIGH and below:
            return f"cannot be told from the band's upper limit ({_beside(below, 'below', 'above')})"
        return "cannot be told from either limit of the band"
    if above and above.value >= 0 and (below is None or above.value <= below.value):
        return f"{_percent(above.value)} above the band's lower limit"
    if below and below.value >= 0 and (above is None or above.value >= 0):
        return f"{_percent(below.value)} below the band's upper limit"
    return str(decision.verdict)


def _beside(margin: Measured, inside: str, outside: str) -> str:
    side = inside if margin.value >= 0 else outside
    return f"{_percent(margin.value)} {side} it, ± {_percent(margin.expanded_uncertainty)}"


def _turned(measured: Measured) -> Measured:
    return Measured(-measured.value, measured.standard_uncertainty, measured.degrees_of_freedom)


def _at(revolutions: float) -> str:
    """A count of revolutions as a moment."""
    if revolutions == 0:
        return "the over-tension pass"
    if revolutions != int(revolutions):
        return f"{revolutions:g} revolutions"
    number = int(revolutions)
    if number <= len(_ORDINALS):
        return f"the {_ORDINALS[number - 1]} revolution"
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"the {number}{ending} revolution"


def _percent(value: float) -> str:
    size = abs(value)
    if size < 0.05:
        return "less than 0.1 %"
    return f"{size:.0f} %" if size >= 10 else f"{size:.2g} %" if size >= 1 else f"{size:.1f} %"


def _plus_minus(measured: Measured) -> str:
    """To the second figure of the uncertainty, but no finer than hundredths."""
    expanded = max(measured.expanded_uncertainty, 0.01)
    n_decimals = min(max(1 - math.floor(math.log10(expanded)), 0), 2)
    value = round(measured.value, n_decimals) + 0.0
    return f"{value:.{n_decimals}f} % ± {expanded:.{n_decimals}f} %"
