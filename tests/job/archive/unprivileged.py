"""Work done by a user who may not write everywhere, as root, whom nothing stops, may."""

import multiprocessing
import os
import traceback
from collections.abc import Callable

NOBODY = 65534


def as_nobody(work: Callable[[], object]) -> None:
    """Do work in a process without root's rights; what it raises fails the test."""
    fork = multiprocessing.get_context("fork")
    receiving, sending = fork.Pipe(duplex=False)

    def run() -> None:
        try:
            if os.geteuid() == 0:
                os.setgid(NOBODY)
                os.setuid(NOBODY)
            work()
            sending.send("")
        except BaseException:
            sending.send(traceback.format_exc())

    process = fork.Process(target=run)
    process.start()
    said = receiving.recv() if receiving.poll(60) else "no answer"
    process.join(10)
    assert not said, said
