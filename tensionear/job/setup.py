"""A setup: what is known of one belt span on one engine, made once and used for every such job.

Changing a setup makes a new version; a job keeps the version that it was done with.
"""

from enum import StrEnum
from typing import Annotated, Self

from pydantic import Field, model_validator

from tensionear.belt.comparison import Comparison
from tensionear.belt.stated_value import BeltState
from tensionear.errors import InputError
from tensionear.job.document import Document, FilledLine, Line, Words
from tensionear.job.passes import PassKind, Step
from tensionear.job.span_document import SpanDocument
from tensionear.job.specification_document import BaselineDocument, SpecificationDocument
from tensionear.known_span import KnownSpan
from tensionear.metrology.decision import DecisionRule, Rule
from tensionear.metrology.uncertainty import COVERAGE_PROBABILITY
from tensionear.task import BeltTask

MOST_REVOLUTIONS = 100
"""No procedure asks a person to turn an engine over more often by hand: common practice, no source."""

MOST_PLUCKS = 50
MOST_LINES = 100


class Direction(StrEnum):
    """In which direction the engine is turned; the value is the word for it."""

    CLOCKWISE = "clockwise"
    ANTICLOCKWISE = "anticlockwise"


class RunInPlan(Document):
    """How the manufacturer wants the belt run in: the engine's own direction of rotation, and never the other."""

    revolutions: Annotated[int, Field(ge=1, le=MOST_REVOLUTIONS)]
    direction: Direction
    seen_from: FilledLine = "the belt's side"


class ChecklistLine(Document):
    """A line of the user's own, to be ticked at a step, at will with a value such as a torque."""

    step: Step
    text: FilledLine
    value: float | None = None
    unit: Line = ""

    @model_validator(mode="after")
    def _value_has_its_unit(self) -> Self:
        if (self.value is None) != (not self.unit):
            raise ValueError(f"checklist line {self.text!r}: a value and its unit belong together")
        return self

    @property
    def words(self) -> str:
        """The line with its value."""
        return self.text if self.value is None else f"{self.text}: {self.value:g} {self.unit}"


class RuleDocument(Document):
    """By what a value is judged."""

    rule: Rule = Rule.GUARDED
    asked_probability: Annotated[float, Field(gt=0.5, lt=1)] = COVERAGE_PROBABILITY

    def decision_rule(self) -> DecisionRule:
        """The rule."""
        return DecisionRule(self.rule, self.asked_probability)


class Setup(Document):
    """What is known of one belt span on one engine.

    Attributes
    ----------
    name : str
        By which it is found again.
    engine, belt, span_name : str
        What they are; `span_name` says which span is plucked.
    span : SpanDocument or None
        Length, density, stiffness with how they were found; without it frequencies are told.
    span_length_how, linear_density_how, stiffness_how : str
        In the user's own words.
    specification : SpecificationDocument or None
        For the final setting and the re-check.
    over_tension : SpecificationDocument or None
        For the over-tension pass, where that is stated by another method or in another place; otherwise a value for
        over-tension in `specification` holds.
    baseline : BaselineDocument or None
        An earlier job of one's own, where there is no specification.
    final_setting_state, re_check_state : BeltState
        Which belt the final setting and the re-check are judged as.
    decision_rule : RuleDocument
        By what is decided.
    run_in : RunInPlan or None
        Revolutions and direction; None: the setup does not say.
    plucks_per_pass : int
        After so many readings a pass is complete.
    checklist : tuple of ChecklistLine
        The user's own lines.
    cautions : tuple of str
        The user's own, beside those that are always shown.
    notes : str
        Whatever else helps.
    """

    name: FilledLine
    engine: Line = ""
    belt: Line = ""
    span_name: Line = ""
    span: SpanDocument | None = None
    span_length_how: Line = ""
    linear_density_how: Line = ""
    stiffness_how: Line = ""
    specification: SpecificationDocument | None = None
    over_tension: SpecificationDocument | None = None
    baseline: BaselineDocument | None = None
    final_setting_state: BeltState = BeltState.ANY
    re_check_state: BeltState = BeltState.ANY
    decision_rule: RuleDocument = RuleDocument()
    run_in: RunInPlan | None = None
    plucks_per_pass: Annotated[int, Field(ge=1, le=MOST_PLUCKS)] = 5
    checklist: Annotated[tuple[ChecklistLine, ...], Field(max_length=MOST_LINES)] = ()
    cautions: Annotated[tuple[FilledLine, ...], Field(max_length=MOST_LINES)] = ()
    notes: Words = ""

    @model_validator(mode="after")
    def _every_pass_can_be_judged(self) -> Self:
        for kind in PassKind:
            self.task_for(kind)  # raises what is wrong with span, specification and states
        return self

    def task_for(self, kind: PassKind) -> BeltTask:
        """What is to be found out in a pass; nothing is compared in the run-in, where the belt is to settle.

        Parameters
        ----------
        kind : PassKind
            Of the pass.

        Raises
        ------
        InputError
            If span, specification and states do not go together.
        """
        span = None if self.span is None else self.span.known_span()
        return BeltTask(span, self._comparison(kind, span), self.decision_rule.decision_rule())

    def _comparison(self, kind: PassKind, span: KnownSpan | None) -> Comparison | None:
        if kind is PassKind.RUN_IN:
            return None
        if kind is PassKind.OVER_TENSION:
            given, state = self.over_tension, BeltState.OVER_TENSION
            if given is None and self.specification is not None and self.specification.states(state):
                given = self.specification
        else:
            given = self.specification
            state = self.final_setting_state if kind is PassKind.FINAL_SETTING else self.re_check_state
            if given is not None and self.baseline is not None:
                raise InputError(
                    "a specification and a baseline of your own are both given: the specification counts"
                )
            if self.baseline is not None:
                return self.baseline.baseline().comparison()
        if given is None:
            return None
        return given.specification().comparison(
            state, None if span is None else span.span, None if span is None else span.stiffness
        )
