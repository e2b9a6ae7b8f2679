"""How decisions, rules, stiffness and sentences are worded, in readings and in records alike."""

import pytest

from tensionear.belt.span import BeltSpan
from tensionear.belt.stiffness import SpanStiffness
from tensionear.known_span import KnownSpan
from tensionear.metrology.decision import GUARDED, Decision, DecisionRule, Rule, Side, Verdict
from tensionear.words import capital, probability_words, rule_words, sentence, stiffness_words, verdict_words

SPAN = BeltSpan(0.213, 0.0005, 0.165, 0.001)


@pytest.mark.parametrize(
    ("verdict", "side", "said"),
    [
        (Verdict.IN_BAND, None, "in band"),
        (Verdict.OUT_OF_BAND, Side.LOW, "out of band: too low"),
        (Verdict.OUT_OF_BAND, Side.HIGH, "out of band: too high"),
        (Verdict.UNDECIDED, Side.LOW, "undecided: near the lower limit"),
        (Verdict.UNDECIDED, Side.HIGH, "undecided: near the upper limit"),
        (Verdict.UNDECIDED, None, "undecided"),
    ],
)
def test_a_decision_is_said_with_its_side(verdict: Verdict, side: Side | None, said: str) -> None:
    assert verdict_words(Decision(verdict, side)) == said


def test_a_rule_is_named_with_the_probability_that_it_asks_for() -> None:
    assert rule_words(GUARDED) == "guarded acceptance and rejection"
    assert rule_words(DecisionRule(Rule.STATED_PROBABILITY, 0.9)) == "stated conformance probability of 90 %"


@pytest.mark.parametrize(
    ("probability", "said"), [(1.0, "more than 99.9 %"), (0.0, "less than 0.1 %"), (0.7864, "78.6 %")]
)
def test_a_probability_claims_no_more_figures_than_it_has(probability: float, said: str) -> None:
    assert probability_words(probability) == said


def test_what_is_not_known_of_a_stiffness_is_said() -> None:
    assert stiffness_words(KnownSpan.taken(SPAN)) == "stiffness not known"
    assert stiffness_words(KnownSpan.taken(SPAN, as_flexible=True)) == "taken as flexible"
    stiff = KnownSpan.taken(SPAN, SpanStiffness(0.02, 0.001, 1.0, 0.0))
    assert stiffness_words(stiff) == "bending stiffness 0.02 N m² (within 0.00173 N m²), ends clamped"


def test_words_become_a_sentence() -> None:
    assert sentence("fell 21 % in run-in") == "Fell 21 % in run-in."
    assert capital("in band") == "In band"
