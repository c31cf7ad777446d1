"""The last stop: work on many things, each in limited time, so that one that never ends does not keep the others back.

A process that can be copied cheaply (Linux, one thread) works in copies of itself. The system ends a copy whose time is
up, whatever it is doing: in C code, in a regular expression, or out of memory. Elsewhere (macOS, Windows, while a site is
served) a timer interrupts the work where there is one, and if that does not help the whole process ends with a traceback.
What ends in time gives the same result either way.
"""

from __future__ import annotations

import faulthandler
import os
import pickle
import select
import signal
import struct
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any, Literal, TypeVar

T = TypeVar("T")
R = TypeVar("R")

SECONDS = 60.0
"""Time for one spec (our choice): fifty times what the largest spec within all limits takes."""

Reason = Literal["time", "ended"]
"""Why there is no result: its time was up, or the process ended by itself, from lack of memory most likely."""

Work = Callable[[Sequence[T], Callable[[int], None]], Iterator[R]]
"""work(items, begun) gives the results in order. It says `begun(place)` whenever it begins on one of the items, and
`begun(len(items))` when on something for all of them."""


class OutOfTime(BaseException):
    """The time for one item is up. It is no Exception, so that nothing on its way takes it for a failure of its own."""


def can_copy() -> bool:
    """Whether this process can be copied cheaply and safely."""
    return sys.platform == "linux" and threading.active_count() == 1


def each(
    work: Work[T, R],
    batches: Sequence[Sequence[T]],
    lost: Callable[[T, Reason], R],
    *,
    processes: int = 1,
    seconds: float = SECONDS,
) -> Iterator[R]:
    """The results of all items in order, worked out in copies of this process, up to `processes` side by side.

    `lost` gives the result of an item whose time was up. What `work` raises is raised here.
    """
    results: list[dict[int, R]] = [{} for _ in batches]
    waiting = [(batch, list(range(len(items)))) for batch, items in enumerate(batches) if items]
    running: dict[int, _Copy] = {}
    given = 0
    try:
        while given < len(batches):
            while waiting and len(running) < processes:
                batch, places = waiting.pop(0)
                copy = _Copy(work, batch, places, [batches[batch][place] for place in places], seconds)
                running[copy.pipe] = copy
            for pipe in select.select(list(running), [], [])[0] if running else ():
                copy = running[pipe]
                if copy.hear(results[copy.batch]):
                    continue
                del running[pipe]
                reason = copy.end()
                missing = [place for place in copy.left if place not in results[copy.batch]]
                if missing and reason is None:  # it has raised something: once more here, where that is told best
                    items = [batches[copy.batch][place] for place in missing]
                    results[copy.batch].update(zip(missing, work(items, lambda place: None), strict=True))
                elif missing and reason is not None:
                    at = missing[0] if len(missing) == 1 else copy.at
                    if at is None:  # on something for all of them: each alone, to see which it is
                        waiting[:0] = [(copy.batch, [place]) for place in missing]
                        continue
                    results[copy.batch][at] = lost(batches[copy.batch][at], reason)
                    if left := [place for place in missing if place != at]:
                        waiting.insert(0, (copy.batch, left))
            while given < len(batches) and len(results[given]) == len(batches[given]):
                yield from (results[given].pop(place) for place in range(len(batches[given])))
                given += 1
    finally:
        for copy in running.values():
            copy.end(kill=True)


class _Copy:
    """A copy of this process at work on some items of a batch: `left` are their places, `at` the one it is at (None: at
    something for all of them)."""

    def __init__(
        self, work: Work[Any, Any], batch: int, left: list[int], items: Sequence[object], seconds: float
    ) -> None:
        self.batch, self.left = batch, left
        self.at: int | None = left[0]
        self.pipe, other = os.pipe()
        self.process = os.fork()
        if self.process == 0:
            os.close(self.pipe)
            _work(work, items, other, seconds)
        os.close(other)

    def hear(self, results: dict[int, Any]) -> bool:
        """Take the one thing that it has told, a result into `results`; False when nothing comes any more.

        No more than one: a wait for the next would keep the results of the other copies back.
        """
        head = _read(self.pipe, _HEAD.size)
        if not head:
            return False
        what, place, length = _HEAD.unpack(head)
        if what == _BEGUN:
            self.at = self.left[place] if place < len(self.left) else None
            return True
        result = _read(self.pipe, length)
        if result:
            results[self.left[place]] = pickle.loads(result)  # noqa: S301  # our own copy wrote it
        return bool(result)

    def end(self, *, kill: bool = False) -> Reason | None:
        """Take the process away, and tell what ended it; None if it ended as it should."""
        os.close(self.pipe)
        if kill:
            os.kill(self.process, signal.SIGKILL)
        status = os.waitpid(self.process, 0)[1]
        if status == 0:
            return None
        return "time" if os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGALRM else "ended"


_HEAD = struct.Struct("!BIQ")
_BEGUN, _DONE = 0, 1


def _work(work: Work[Any, Any], items: Sequence[object], pipe: int, seconds: float) -> None:
    """What the copy does: it works, tells, and ends. Each beginning sets the alarm anew; nobody handles that, so the system
    ends the process."""
    code = 1
    try:
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        signal.signal(signal.SIGINT, signal.SIG_DFL)

        def begun(place: int) -> None:
            signal.setitimer(signal.ITIMER_REAL, seconds)
            _write(pipe, _HEAD.pack(_BEGUN, place, 0))

        begun(0)
        for place, result in enumerate(work(items, begun)):
            text = pickle.dumps(result, pickle.HIGHEST_PROTOCOL)
            _write(pipe, _HEAD.pack(_DONE, place, len(text)) + text)
        code = 0
    except MemoryError:  # what was at work on it has its own answer to that; here there is none
        code = 1
    except Exception:  # noqa: BLE001  # told by the process that this is a copy of, which tries again
        code = 0
    finally:
        os._exit(code)


def _read(pipe: int, length: int) -> bytes:
    """So many bytes of a pipe; fewer, in the end none, when its other end is closed."""
    parts: list[bytes] = []
    while length and (part := os.read(pipe, min(length, 1 << 20))):
        parts.append(part)
        length -= len(part)
    return b"".join(parts) if not length else b""


def _write(pipe: int, text: bytes) -> None:
    """All of the bytes into a pipe."""
    view = memoryview(text)
    while view:
        view = view[os.write(pipe, view) :]


def one_by_one(work: Work[T, R], items: Sequence[T], lost: Callable[[T, Reason], R]) -> Iterator[R]:
    """The results of all items in order: from one copy of this process, or from this process where it is not copied."""
    if can_copy():
        yield from each(work, [items], lost)
        return
    for item in items:
        try:
            with interrupted() as begun:
                results = list(work([item], begun))
        except OutOfTime:
            results = [lost(item, "time")]
        yield from results


@contextmanager
def interrupted(seconds: float = SECONDS) -> Iterator[Callable[[int], None]]:
    """For where no copy can be made: raises OutOfTime in this process when the time since the last `begun(place)` is up.
    Where there is no such timer, or where it is not heard within as much time again, the process ends with a traceback."""

    def stop(*_: object) -> None:
        raise OutOfTime

    def begun(place: int) -> None:  # noqa: ARG001  # which one it is matters to copies only
        if sys.__stderr__ is not None:  # without a stream to tell it on there is no last stop
            with suppress(OSError, ValueError):
                faulthandler.dump_traceback_later(2 * seconds, exit=True, file=sys.__stderr__)
        if timer:
            signal.setitimer(signal.ITIMER_REAL, seconds)

    timer = hasattr(signal, "setitimer") and threading.current_thread() is threading.main_thread()
    before = signal.signal(signal.SIGALRM, stop) if timer else None
    try:
        begun(0)
        yield begun
    finally:
        if timer:
            signal.setitimer(signal.ITIMER_REAL, 0)
            signal.signal(signal.SIGALRM, before)
        faulthandler.cancel_dump_traceback_later()
