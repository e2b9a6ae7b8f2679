"""Work is spread over processes, a bounded number of items at once, and ends at once when it is to end."""

import multiprocessing
import os
import time
from collections.abc import Iterator

import pytest

from tensionear.errors import InputError
from tensionear.job.reanalysis.workers import n_processors, worked_through


@pytest.mark.parametrize("n_processes", [1, 2])
def test_every_item_is_worked_on_once(n_processes: int) -> None:
    assert sorted(worked_through(range(-30, 0), abs, n_processes)) == list(range(1, 31))


def test_items_are_taken_only_as_they_are_worked_on() -> None:
    taken: list[int] = []

    def items() -> Iterator[int]:
        for number in range(100):
            taken.append(number)
            yield number

    for n_done, _ in enumerate(worked_through(items(), abs, 2), 1):
        assert len(taken) <= n_done + 2 * 3 + 2 * 3
    assert len(taken) == 100


def test_a_process_that_dies_is_told_with_a_remedy() -> None:
    with pytest.raises(InputError, match=r"died.*fewer processes"):
        list(worked_through([3, 3], os._exit, 2))


def test_nobody_waits_for_what_is_in_flight_when_it_is_closed() -> None:
    results = worked_through([0.0, 250.0, 250.0], time.sleep, 2)
    next(results)
    results.close()  # longer than the test may take, if it waited
    assert not multiprocessing.active_children()


def test_what_the_work_raises_ends_all() -> None:
    with pytest.raises(TypeError, match="bad operand"):
        list(worked_through(["no number"], abs, 2))  # type: ignore[arg-type]


def test_there_is_a_processor() -> None:
    assert 1 <= n_processors() <= (os.cpu_count() or 1)
