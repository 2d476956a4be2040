"""How a run ends that is told to: by a signal, with nothing of its own left behind.

A pipeline ends a job that takes too long with SIGTERM, a person with Ctrl-C. Both
become an exit of the program here, so that private folders are removed and files
half-written are taken back. The exit code is 128 and the signal's number, as a shell
has it.
"""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import NoReturn

__all__ = ["SIGNALS", "ended_in_order"]

SIGNALS = (signal.SIGTERM, signal.SIGINT)
"""The signals that end a run, with the exit codes 143 and 130."""


class _Ended(SystemExit):
    """The end of a run by a signal."""


@contextmanager
def ended_in_order() -> Iterator[None]:
    """Let a signal end what runs here as an exit does, and say so.

    A signal that was ignored when the program was started stays ignored.
    """
    heard = [each for each in SIGNALS if signal.getsignal(each) != signal.SIG_IGN]
    before = [(each, signal.signal(each, _end)) for each in heard]
    try:
        yield
    except _Ended:
        sys.stderr.write("Ended by a signal before it was done.\n")
        raise
    finally:
        for number, handler in before:
            signal.signal(number, handler)


def _end(number: int, _frame: FrameType | None) -> NoReturn:
    # A second signal would break off the cleaning up that the first one has begun.
    for each in SIGNALS:
        signal.signal(each, signal.SIG_IGN)
    raise _Ended(128 + number)
