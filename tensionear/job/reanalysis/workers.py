"""Work spread over processes: a bounded number of items at once, results as they come, and an end that is quick.

The parent alone talks to archive and files; the processes are given one item at a time and give back its result.
They are started afresh ("spawn"), with one thread each, and leave Ctrl-C to the parent.
"""

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from itertools import islice
from typing import TypeVar

from tensionear.errors import InputError

Item = TypeVar("Item")
Result = TypeVar("Result")

_IN_FLIGHT_PER_PROCESS = 3
"""Enough that no process waits, few enough that little sound is held."""

_ONE_THREAD = "OPENBLAS_NUM_THREADS"


def n_processors() -> int:
    """How many processors this program may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def worked_through(
    items: Iterable[Item], work: Callable[[Item], Result], n_processes: int
) -> Generator[Result]:
    """Do some work on each item.

    Parameters
    ----------
    items : iterable
        Taken only as fast as they are worked on.
    work : callable
        A function of a module; what it raises ends all.
    n_processes : int
        1 or more; with 1 everything is done in this process.

    Yields
    ------
    Result
        In the order in which they are ready. Close it to stop.

    Raises
    ------
    InputError
        If a process dies.
    """
    if n_processes == 1:
        yield from map(work, items)
        return
    upcoming = iter(items)
    with _pool(n_processes) as pool:
        in_flight: set[Future[Result]] = set()
        try:
            while True:
                n_free = n_processes * _IN_FLIGHT_PER_PROCESS - len(in_flight)
                in_flight |= {pool.submit(work, item) for item in islice(upcoming, n_free)}
                if not in_flight:
                    return
                done, in_flight = wait(in_flight, return_when=FIRST_COMPLETED)
                for each in done:
                    yield each.result()
        except BrokenProcessPool as error:
            raise InputError(
                "a process that was reading died: was the memory full? Start again with fewer processes; with a file"
                " of results it goes on where it was"
            ) from error


@contextmanager
def _pool(n_processes: int) -> Iterator[ProcessPoolExecutor]:
    others = set(multiprocessing.active_children())
    threads_before = os.environ.get(_ONE_THREAD)
    # Read by the linear algebra when a process loads it, and inherited.
    os.environ[_ONE_THREAD] = "1"
    pool = ProcessPoolExecutor(n_processes, multiprocessing.get_context("spawn"), _begin_to_work)
    try:
        yield pool
    except BaseException:
        # Nobody waits for what is in flight: a long recording may take minutes.
        for process in set(multiprocessing.active_children()) - others:
            process.terminate()
        raise
    finally:
        pool.shutdown(cancel_futures=True)
        if threads_before is None:
            del os.environ[_ONE_THREAD]
        else:
            os.environ[_ONE_THREAD] = threads_before


def _begin_to_work() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """End as soon as the parent is gone, even if it was killed: else this process would wait for work for ever."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
