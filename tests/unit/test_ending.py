"""Laws of how a signal ends a run: as an exit, once, and only where it is heard."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest

from configlint.commands.ending import SIGNALS, ended_in_order


@contextmanager
def closing(close: Callable[[], None]) -> Iterator[None]:
    """Do something at the end of a context, however it ends."""
    try:
        yield
    finally:
        close()


@pytest.mark.parametrize(
    ("number", "code"), [(signal.SIGTERM, 143), (signal.SIGINT, 130)]
)
def test_a_signal_is_an_exit(
    number: signal.Signals, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    """What was opened is closed, once, though a second signal comes meanwhile."""
    before = [signal.getsignal(each) for each in SIGNALS]
    closed = []

    def close() -> None:
        signal.raise_signal(signal.SIGTERM)
        closed.append(number)

    with pytest.raises(SystemExit) as ended, ended_in_order(), closing(close):
        signal.raise_signal(number)
    assert ended.value.code == code
    assert closed == [number]
    assert capsys.readouterr().err == "Ended by a signal before it was done.\n"
    assert [signal.getsignal(each) for each in SIGNALS] == before


def test_without_a_signal_nothing_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    """A run that ends by itself, with whatever code, is left as it is."""
    with pytest.raises(SystemExit) as ended, ended_in_order():
        raise SystemExit(1)
    assert ended.value.code == 1
    with ended_in_order():
        pass
    assert capsys.readouterr().err == ""


def test_an_ignored_signal_stays_ignored() -> None:
    """A program that is started to outlive its terminal is not ended by Ctrl-C."""
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        with ended_in_order():
            signal.raise_signal(signal.SIGINT)
        assert signal.getsignal(signal.SIGINT) == signal.SIG_IGN
    finally:
        signal.signal(signal.SIGINT, before)
