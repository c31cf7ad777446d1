"""The last stop: whatever an item does, the others get their results, and in order."""

from __future__ import annotations

import ctypes
import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence

import pytest

from gasdoc.machine import limited

copies = pytest.mark.skipif(not limited.can_copy(), reason="only a process that can be copied ends what is in C code")


def work(items: Sequence[str], begun: Callable[[int], None]) -> Iterator[str]:
    """Each item in capitals, but for those that never end."""
    for place, item in enumerate(items):
        begun(place)
        match item:
            case "loop":
                while True:
                    pass
            case "expression":
                re.match(r"(a+)+$", "a" * 40 + "b")
            case "c":
                ctypes.PyDLL(None).sleep(1000)  # holds the interpreter, so that no other thread of it runs
            case "gone":
                os.kill(os.getpid(), signal.SIGKILL)
            case "memory":
                raise MemoryError
            case "wrong":
                raise ValueError(item)
        yield item.upper()


def lost(item: str, reason: limited.Reason) -> str:
    return f"{item}: {reason}"


@copies
@pytest.mark.parametrize(
    ("item", "reason"),
    [("loop", "time"), ("expression", "time"), ("c", "time"), ("gone", "ended"), ("memory", "ended")],
)
def test_what_never_ends_is_ended_and_the_others_have_their_results(item: str, reason: str) -> None:
    began = time.monotonic()
    found = list(limited.each(work, [["a", item, "b"], ["c1"]], lost, seconds=1.0))
    assert found == ["A", f"{item}: {reason}", "B", "C1"]
    assert time.monotonic() - began < 20


@copies
def test_several_copies_give_the_results_in_order() -> None:
    batches = [["a", "b"], ["gone", "c1"], ["d"], []]
    assert list(limited.each(work, batches, lost, processes=3)) == ["A", "B", "gone: ended", "C1", "D"]
    assert list(limited.each(work, [], lost)) == []


@copies
def test_what_is_raised_is_raised_here() -> None:
    with pytest.raises(ValueError, match="wrong"):
        list(limited.each(work, [["a", "wrong", "b"]], lost))


@copies
def test_where_all_are_at_work_at_once_each_is_tried_alone() -> None:
    def together(items: Sequence[str], begun: Callable[[int], None]) -> Iterator[str]:
        begun(len(items))
        return iter(list(work(items, lambda place: None)))

    assert list(limited.each(together, [["a", "gone", "b"]], lost)) == ["A", "gone: ended", "B"]


@copies
def test_no_copy_is_left_behind_when_the_results_are_not_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    copied: list[int] = []
    fork = os.fork

    def counted() -> int:
        copied.append(fork())
        return copied[-1]

    monkeypatch.setattr(os, "fork", counted)
    began = time.monotonic()
    found = limited.each(work, [["a"], ["loop"]], lost, processes=2, seconds=100)
    assert next(found) == "A"
    assert time.monotonic() - began < 50, "the copy that never ends keeps the other's result back"
    found.close()  # type: ignore[attr-defined]  # it is a generator
    # Only the copies themselves: what runs the tests may have other children.
    assert len(copied) == 2
    for process in copied:
        with pytest.raises(ChildProcessError):
            os.waitpid(process, os.WNOHANG)


def test_a_process_with_threads_is_not_copied() -> None:
    stop = threading.Event()
    thread = threading.Thread(target=stop.wait)
    thread.start()
    try:
        assert not limited.can_copy()
    finally:
        stop.set()
        thread.join()


@pytest.mark.skipif(not hasattr(signal, "setitimer"), reason="there is no such timer here")
@pytest.mark.parametrize("item", ["loop", "expression"])
def test_where_no_copy_is_made_a_timer_interrupts(item: str) -> None:
    handler = signal.getsignal(signal.SIGALRM)
    with pytest.raises(limited.OutOfTime), limited.interrupted(0.2) as begun:
        list(work([item], begun))
    assert signal.getsignal(signal.SIGALRM) is handler and signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)
    with limited.interrupted(100) as begun:
        assert list(work(["a"], begun)) == ["A"]


@pytest.mark.skipif(sys.platform == "win32", reason="a process ends otherwise there")
def test_what_no_timer_interrupts_ends_the_process_with_a_traceback() -> None:

    program = (
        "import ctypes\nfrom gasdoc.machine import limited\nwith limited.interrupted(0.2):\n"
        "    while True:\n        try:\n            ctypes.PyDLL(None).sleep(1000)\n        except BaseException: pass\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False, timeout=30)
    assert done.returncode != 0 and "Timeout" in done.stderr
