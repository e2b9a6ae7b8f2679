"""What to do next: how an undecided value can be decided, and how far to change one that is to be changed.

Everything here supposes that a further measurement finds the value that was found, only better known. It is advice;
the further measurement decides.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf, isfinite, isinf, sqrt

from tensionear.metrology.budget import Budget, BudgetInput
from tensionear.metrology.decision import GUARDED, DecisionRule, Verdict, decide
from tensionear.metrology.improvement import Improvement, improvement
from tensionear.metrology.uncertainty import Measured

MOST_PLUCKS = 20
"""More in one set than this are not advised (ours: hands tire, the gain goes with the root). [1]"""

SMALLEST_GAIN = 0.01
"""Improvements that narrow the result by less than this share of its uncertainty are not worth a word (ours). [1]"""

_N_HALVINGS = 30


@dataclass(frozen=True)
class RepeatedInput:
    """The input of a budget that is the mean of a set.

    Attributes
    ----------
    name : str
        Its name in the budget.
    n : int
        Plucks of which it is the mean, 1 or more.
    """

    name: str
    n: int


@dataclass(frozen=True)
class WayOut:
    """How an undecided value can be decided.

    Attributes
    ----------
    decides : bool
        Whether it can be, with the plucks and improvements that follow; if not, they are all that there is.
    n_more_plucks : int
        Plucks to be added to the set, 0 if they are not what it takes.
    improvements : tuple of Improvement
        Inputs to be known better, each by itself; none if plucks are enough.
    reached : Budget
        The budget after all of that.
    is_decided_in_the_middle : bool
        Whether a value in the middle of the band, known as well as this one is now, would be in band: then the
        shortest way is to set the belt there.
    """

    decides: bool
    n_more_plucks: int
    improvements: tuple[Improvement, ...]
    reached: Budget
    is_decided_in_the_middle: bool

    def sentence(
        self,
        shown: Callable[[BudgetInput, float], str] | None = None,
        shown_result: Callable[[Budget, float], str] | None = None,
    ) -> str:
        """The way out in a sentence.

        Parameters
        ----------
        shown : callable, optional
            How a half-width of an input is written, with its unit; two figures in the input's own unit if not
            given.
        shown_result : callable, optional
            The same for the expanded uncertainty of the result.
        """

        def write(given: BudgetInput, half_width: float) -> str:
            return shown(given, half_width) if shown else f"{half_width:.2g} {given.unit}".strip()

        steps = [
            f"{each.now.improved_by or f'knowing the {each.now.name}'} to "
            f"± {write(each.then, each.then.half_width)} instead of ± {write(each.now, each.now.half_width)}"
            for each in self.improvements
        ]
        if self.n_more_plucks:
            steps.insert(
                0, "1 more pluck" if self.n_more_plucks == 1 else f"{self.n_more_plucks} more plucks"
            )
        if self.decides:
            told = f"{' and '.join(steps)} would decide it, if the value stays as it is"
        else:
            expanded, unit = self.reached.result.expanded_uncertainty, self.reached.unit
            left = f"± {shown_result(self.reached, expanded) if shown_result else f'{expanded:.2g} {unit}'}".rstrip()
            after = (
                f"even after {' and '.join(steps)} it is known only to {left}"
                if steps
                else f"it stays at {left}"
            )
            told = f"with this equipment it cannot be decided: {after}"
        if self.is_decided_in_the_middle:
            told += "; set to the middle of the band, it could be decided as it is measured now"
        return told


def way_out(
    budget: Budget,
    lower: float,
    upper: float,
    *,
    repeated: RepeatedInput | None = None,
    reachable: Mapping[str, float] | None = None,
    decision_rule: DecisionRule = GUARDED,
) -> WayOut | None:
    """Find what would decide an undecided value: more plucks, else one input, else all together.

    Parameters
    ----------
    budget : Budget
        Of the value.
    lower, upper : float
        The band's limits in the value's unit; one of them may be infinite.
    repeated : RepeatedInput, optional
        The input that more plucks would make better known.
    reachable : mapping of str to float, optional
        To what half-width inputs can be known with what is at hand, by their names.
    decision_rule : DecisionRule
        By what is decided.

    Returns
    -------
    WayOut or None
        None if the value is decided already.

    Raises
    ------
    KeyError
        If the budget has no input of a name that is given.
    ValueError
        If `lower` is not below `upper`, or both are infinite.
    """

    def decides(attempt: Budget) -> bool:
        return decide(attempt.result, lower, upper, decision_rule).verdict is not Verdict.UNDECIDED

    if decides(budget):
        return None
    middle = next_move(budget.result, lower, upper)
    in_middle = middle is not None and middle.is_enough

    def found(is_decided: bool, n: int, steps: Sequence[Improvement], reached: Budget) -> WayOut:
        return WayOut(is_decided, n, tuple(steps), reached, in_middle)

    most: list[BudgetInput] = []
    n_most = 0
    if repeated is not None:
        for n_more in range(1, MOST_PLUCKS - repeated.n + 1):
            most = [_repeated_more(budget, repeated, n_more)]
            n_most = n_more
            attempt = budget.with_inputs(*most)
            if decides(attempt):
                return found(True, n_more, (), attempt)

    better = [
        improvement(budget, name, half_width)
        for name, half_width in (reachable or {}).items()
        if half_width < budget.line(name).given.half_width
    ]
    least = (1 - SMALLEST_GAIN) * budget.result.standard_uncertainty
    better = [each for each in better if each.after.result.standard_uncertainty <= least]
    better.sort(key=lambda each: each.after.result.standard_uncertainty)
    for each in better:
        if decides(each.after):
            enough = _coarsest(each, decides)
            return found(True, 0, (enough,), enough.after)

    def after(steps: Sequence[Improvement]) -> Budget:
        return budget.with_inputs(*most, *(each.then for each in steps))

    if not decides(after(better)):
        return found(False, n_most, better, after(better))
    for each in reversed(better):  # what helps least is spared first
        fewer = [other for other in better if other is not each]
        if decides(after(fewer)):
            better = fewer
    return found(True, n_most, better, after(better))


class Aim(StrEnum):
    """Where a value is to be brought."""

    MIDDLE = "middle of the band"
    GUARDED_LIMIT = "nearest value that is surely in band"


@dataclass(frozen=True)
class Move:
    """By how much to change a value.

    Attributes
    ----------
    now, target : float
        The value as it is and as it should become.
    aim : Aim
        What the target is.
    is_enough : bool
        Whether a value at the target, relatively known as well as now, would be in band by guarded acceptance.
    """

    now: float
    target: float
    aim: Aim
    is_enough: bool

    @property
    def change(self) -> float:
        """What is to be added, below 0 if it is to be taken away."""
        return self.target - self.now

    def change_through(self, conversion: Callable[[float], float]) -> float:
        """The change in a quantity that follows from the value, such as the frequency from the tension.

        Parameters
        ----------
        conversion : callable
            Gives that quantity for a value.
        """
        return conversion(self.target) - conversion(self.now)


def next_move(measured: Measured, lower: float, upper: float, aim: Aim = Aim.MIDDLE) -> Move | None:
    """By how much to change a value to bring it where it should be.

    Parameters
    ----------
    measured : Measured
        The value as it is, above 0; its relative uncertainty is taken to stay.
    lower, upper : float
        The band's limits, in its unit; one of them may be infinite.
    aim : Aim
        A band with one limit has no middle: then the nearest value that is surely in band is the target.

    Returns
    -------
    Move or None
        None if the value is known so badly that no value can be told to be in the band, and there is no middle.

    Raises
    ------
    ValueError
        If `lower` is not below `upper`, both are infinite, or the value is not above 0.
    """
    if measured.value <= 0:
        raise ValueError(f"value {measured.value} is not above 0")
    decide(measured, lower, upper)  # tells limits out of order
    share = measured.expanded_uncertainty / measured.value
    lowest = -inf if isinf(lower) else lower / (1 - share) if share < 1 else inf
    highest = upper / (1 + share)
    is_open = lowest <= highest
    if isfinite(lower) and isfinite(upper) and (aim is Aim.MIDDLE or not is_open):
        middle = (lower + upper) / 2
        return Move(measured.value, middle, Aim.MIDDLE, lowest <= middle <= highest)
    if not is_open or lowest == inf:
        return None
    target = min(max(measured.value, lowest), highest)
    return Move(measured.value, target, Aim.GUARDED_LIMIT, True)


def _repeated_more(budget: Budget, repeated: RepeatedInput, n_more: int) -> BudgetInput:
    given = budget.line(repeated.name).given
    n_after = repeated.n + n_more
    degrees = given.measured.degrees_of_freedom
    return replace(
        given,
        measured=replace(
            given.measured,
            standard_uncertainty=given.measured.standard_uncertainty * sqrt(repeated.n / n_after),
            degrees_of_freedom=degrees if isinf(degrees) else max(degrees, n_after - 1),
        ),
    )


def _coarsest(enough: Improvement, decides: Callable[[Budget], bool]) -> Improvement:
    """Return the least improvement of an input that still decides, given one that does."""
    fine, coarse = enough.then.half_width, enough.now.half_width
    for _ in range(_N_HALVINGS):
        between = (fine + coarse) / 2
        attempt = improvement(enough.before, enough.now.name, between)
        if decides(attempt.after):
            fine, enough = between, attempt
        else:
            coarse = between
    return enough
