"""How decisions, rules and ends are called when people are told of them."""

from tensionear.belt.limits import Unit
from tensionear.belt.stiffness import SpanStiffness
from tensionear.figures import half_width
from tensionear.known_span import KnownSpan, SpanModel
from tensionear.metrology.decision import Decision, DecisionRule, Rule, Side, Verdict

HERTZ = Unit("Hz", "hertz", 1.0)
INTERVAL_NOTE = "± is the expanded uncertainty (95 %)."
NOT_CORRECTED_NOTE = (
    "What is specified is a force, and what is compared is the tension as if flexible, as was asked for: the"
    " verdict holds only for a belt without stiffness."
)


def verdict_words(decision: Decision) -> str:
    """Say a decision to a person."""
    if decision.side is None or decision.verdict is Verdict.IN_BAND:
        return str(decision.verdict)
    if decision.verdict is Verdict.OUT_OF_BAND:
        return f"{decision.verdict}: too {decision.side}"
    return f"{decision.verdict}: near the {'lower' if decision.side is Side.LOW else 'upper'} limit"


def rule_words(decision_rule: DecisionRule) -> str:
    """Name a decision rule, with what it asks for."""
    if decision_rule.rule is not Rule.STATED_PROBABILITY:
        return str(decision_rule.rule)
    return f"{decision_rule.rule} of {100 * decision_rule.asked_probability:g} %"


def probability_words(probability: float) -> str:
    """Tell a conformance probability, without claiming more figures than it has."""
    percent = 100 * probability
    if percent > 99.9:
        return "more than 99.9 %"
    return "less than 0.1 %" if percent < 0.1 else f"{percent:.3g} %"


def ends_words(stiffness: SpanStiffness) -> str:
    """How the ends are held."""
    if stiffness.end_fixity_standard_uncertainty == 0 and stiffness.end_fixity in (0, 1):
        return "ends clamped" if stiffness.end_fixity else "ends pinned"
    if abs(stiffness.end_fixity - 0.5) < 1e-9 and stiffness.end_fixity_standard_uncertainty > 0.28:
        return "ends anywhere from pinned to clamped"
    fixity = half_width(stiffness.end_fixity, stiffness.end_fixity_standard_uncertainty, 1.0, "")
    return f"end fixity {fixity.replace(' )', ')').replace('  ', ' ')}"


def stiffness_words(known: KnownSpan) -> str:
    """How a span's stiffness is allowed for."""
    stiffness = known.stiffness
    if stiffness is None:
        return str(known.model) if known.model is SpanModel.NOT_KNOWN else "taken as flexible"
    bending = half_width(
        stiffness.bending_stiffness_n_m2, stiffness.bending_stiffness_standard_uncertainty_n_m2, 1.0, "N m²"
    )
    return f"bending stiffness {bending}, {ends_words(stiffness)}"


def capital(said: str) -> str:
    """Words with a capital at their beginning."""
    return f"{said[0].upper()}{said[1:]}"


def sentence(said: str) -> str:
    """Words as a sentence."""
    return f"{capital(said)}."
