"""What a budget would come to if one of its inputs were better known, said in a sentence."""

from collections.abc import Callable
from dataclasses import dataclass

from tensionear.metrology.budget import Budget, BudgetInput


@dataclass(frozen=True)
class Improvement:
    """An input of a budget, better known.

    Attributes
    ----------
    now, then : BudgetInput
        The input as it is, and as it would be.
    before, after : Budget
        The budget as it is, and as it would be.
    """

    now: BudgetInput
    then: BudgetInput
    before: Budget
    after: Budget

    @property
    def is_dominant(self) -> bool:
        """Whether it is the input that contributes most."""
        return self.before.dominant.given.name == self.now.name

    def sentence(self, shown: Callable[[float], str] | None = None) -> str:
        """What it would bring: "measuring the span to ± 0.5 mm instead of ± 2 mm would take ± 11 % to ± 6 %".

        Parameters
        ----------
        shown : callable, optional
            How a half-width of the input is written, with its unit; two figures in the input's own unit if not
            given.
        """
        write = shown or (lambda half_width: f"{half_width:.2g} {self.now.unit}".strip())
        doing = self.now.improved_by or f"knowing the {self.now.name}"
        return (
            f"{doing} to ± {write(self.then.half_width)} instead of ± {write(self.now.half_width)} "
            f"would take {_relative(self.before)} to {_relative(self.after)}"
        )


def improvement(budget: Budget, name: str, half_width: float | None = None) -> Improvement:
    """What would become of a budget with an input better known.

    Parameters
    ----------
    budget : Budget
        As it is.
    name : str
        Of the input.
    half_width : float, optional
        To which the input would be known (`BudgetInput.half_width`), half of what it is if not given.

    Raises
    ------
    KeyError
        If the budget has no input of that name.
    """
    now = budget.line(name).given
    then = now.known_to(now.half_width / 2 if half_width is None else half_width)
    return Improvement(now, then, budget, budget.with_inputs(then))


def dominance(budget: Budget) -> Improvement:
    """What halving the uncertainty of the input that contributes most would bring."""
    return improvement(budget, budget.dominant.given.name)


def dominance_sentence(budget: Budget, shown: Callable[[float], str] | None = None) -> str:
    """Which input contributes most, and what halving its uncertainty would bring, in one sentence.

    Parameters
    ----------
    budget : Budget
        What is to be improved.
    shown : callable, optional
        As for `Improvement.sentence`.
    """
    halved = dominance(budget)
    return f"the {halved.now.name} limits the {budget.name} most: {halved.sentence(shown)}"


def _relative(budget: Budget) -> str:
    result = budget.result
    if not result.value:
        return f"± {result.expanded_uncertainty:.2g} {budget.unit}".rstrip()
    percent = 100 * result.expanded_uncertainty / abs(result.value)
    return f"± {percent:.0f} %" if percent >= 9.5 else f"± {percent:.2g} %"
