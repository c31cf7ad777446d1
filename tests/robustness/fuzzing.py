"""How the fuzzers of this folder run: guided by what code an input reaches where atheris is installed, by chance elsewhere.

    python -m pip install atheris        # if wanted, into an environment of its own that can import gasdoc
    python tests/robustness/fuzz_files.py --seconds 300

Each fuzzer is a `Target`: inputs to start from, words to put in, and what must hold for each input. Beside what it asks
itself, no input may take longer than its seconds of this processor or more memory than MEMORY. Inputs are changed by a few
bytes or lines, and by one piece repeated until the input is long: that is what finds work with the square of a length. The
first input that breaks anything is written to a file and ends the run; it becomes a case of a test. At the end the counts
are printed: inputs, how fast, the slowest, the largest answer, the peak of memory.
"""

from __future__ import annotations

import argparse
import importlib.util
import os
import random
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from pathlib import Path
from typing import NoReturn

GUIDED = importlib.util.find_spec("atheris") is not None
MEMORY = 200_000_000
"""Bytes by which one input may raise the peak of memory."""
HANGS = 4
"""Times of its seconds after which an input is ended."""
KEPT = 40


@dataclass(frozen=True)
class Target:
    """What one fuzzer tries: `check` asks an input for all that must hold and gives the size of the answer."""

    check: Callable[[bytes], int]
    seeds: Sequence[bytes]
    words: Sequence[bytes] = ()
    seconds: float = 1.0
    longest: int = 100_000


@dataclass
class Counts:
    """What was run so far."""

    inputs: int = 0
    slowest: float = 0.0
    slow: bytes = b""
    largest: int = 0
    began: float = field(default_factory=time.monotonic)

    def __str__(self) -> str:
        spent = time.monotonic() - self.began
        return (
            f"{self.inputs:,} inputs in {spent:,.0f} s ({self.inputs / max(spent, 0.01):,.0f} a second); the slowest took "
            f"{self.slowest:.2f} s for {len(self.slow):,} bytes that begin with {self.slow[:60]!r}; the largest answer has "
            f"{self.largest:,} bytes; {peak() // 1_000_000} MB at the peak"
        )


def watched(name: str) -> AbstractContextManager[object]:
    """For the imports of a fuzzer that is run (its `__name__` is given): which code an input reaches can then be seen."""
    if name != "__main__" or not GUIDED or "--by-chance" in sys.argv:
        return nullcontext()
    import atheris

    return atheris.instrument_imports(include=["gasdoc"])


def peak() -> int:
    """The most memory that this process has had, in bytes; 0 where the system does not say."""
    try:
        import resource
    except ImportError:
        return 0
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return int(most) if sys.platform == "darwin" else most * 1024


def tried(target: Target, raw: bytes, counts: Counts) -> float:
    """Try one input, count it, and give the seconds it took. Raises AssertionError, or what the code tried raises."""
    before = peak()
    can_end = hasattr(signal, "setitimer")
    if can_end:
        signal.signal(signal.SIGVTALRM, _hangs)
        signal.setitimer(signal.ITIMER_VIRTUAL, HANGS * target.seconds)
    began = time.process_time()
    try:
        size = target.check(raw)
    finally:
        if can_end:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0)
    took = time.process_time() - began
    counts.inputs += 1
    counts.largest = max(counts.largest, size)
    if took > counts.slowest:
        counts.slowest, counts.slow = took, raw
    assert took < target.seconds, f"{took:.1f} s for {len(raw):,} bytes"
    assert peak() - before < MEMORY, f"{(peak() - before) // 1_000_000} MB for {len(raw):,} bytes"
    return took


def _hangs(number: int, frame: object) -> NoReturn:
    raise AssertionError("it does not end")


def changed(raw: bytes, target: Target, chance: random.Random) -> bytes:
    """An input with a few changes, and one time in six with a piece of it repeated until it is long, or with that alone."""
    grown = chance.random() < 0.16
    for _ in range(chance.randint(0 if grown else 1, 3)):
        raw = chance.choice((_bytes, _lines, _word, _spliced))(raw, target, chance)
    return (_grown(raw, target, chance) if grown else raw)[: target.longest]


def _bytes(raw: bytes, target: Target, chance: random.Random) -> bytes:
    at = chance.randint(0, len(raw))
    end = min(at + int(chance.paretovariate(0.7)), len(raw))
    put = chance.choice((b"", raw[at:end] * 2, chance.randbytes(chance.randint(1, 4)), bytes(end - at), b"\xff"))
    return raw[:at] + put + raw[end:]


def _lines(raw: bytes, target: Target, chance: random.Random) -> bytes:
    lines = raw.split(b"\n")
    at, other = chance.randrange(len(lines)), chance.randrange(len(lines))
    match chance.randrange(4):
        case 0 if len(lines) > 1:
            del lines[at]
        case 1:
            lines.insert(at, lines[other])
        case 2:
            lines[at], lines[other] = lines[other], lines[at]
        case _:  # another line's value
            lines[at] = lines[at].partition(b": ")[0] + b": " + lines[other].partition(b": ")[2]
    return b"\n".join(lines)


def _word(raw: bytes, target: Target, chance: random.Random) -> bytes:
    at = chance.randint(0, len(raw))
    return raw[:at] + b"".join(chance.choices(target.words or (b"\0",), k=chance.randint(1, 3))) + raw[at:]


def _spliced(raw: bytes, target: Target, chance: random.Random) -> bytes:
    other = chance.choice(target.seeds)
    start = chance.randint(0, len(other))
    at = chance.randint(0, len(raw))
    return raw[:at] + other[start : start + int(chance.paretovariate(0.4))] + raw[at:]


def _grown(raw: bytes, target: Target, chance: random.Random) -> bytes:
    start = chance.choice((chance.randint(0, len(raw)), len(raw)))
    piece = raw[start : start + chance.choice((1, 1, 2, 3, 8, 30))]
    if chance.random() < 0.5 and target.words:
        piece = b"".join(chance.choices(target.words, k=chance.randint(1, 4)))
    room = int(2 ** chance.uniform(8, target.longest.bit_length()))
    return raw[:start] + piece * (room // max(len(piece), 1)) + raw[start:]


def by_chance(target: Target, seed: int, more: Callable[[Counts], bool]) -> Counts:
    """Try the seeds and then what is made of them, and of the slowest so far, as long as `more` says so.

    Raises Broken with the input that breaks anything."""
    chance, counts = random.Random(seed), Counts()
    slow: list[tuple[float, bytes]] = []
    waiting = list(target.seeds)
    while more(counts):
        if waiting:
            raw = waiting.pop()
        elif slow and chance.random() < 0.1:
            raw = changed(chance.choice(slow)[1], target, chance)
        else:
            raw = changed(chance.choice(target.seeds), target, chance)
        try:
            took = tried(target, raw, counts)
        except Exception as error:
            raise Broken(raw) from error
        if len(slow) < KEPT or took > slow[-1][0]:
            slow = sorted([*slow, (took, raw)], reverse=True)[:KEPT]
    return counts


class Broken(Exception):
    """An input for which something does not hold."""

    def __init__(self, raw: bytes) -> None:
        super().__init__(f"{len(raw):,} bytes: {raw[:200]!r}")
        self.raw = raw


def run(target: Target, about: str) -> None:
    """Try inputs until the time or the number is over, print the counts, and end the process: 1 where one broke anything."""
    options = argparse.ArgumentParser(description=about)
    options.add_argument("--seconds", type=float, default=60, help="how long (default %(default)s)")
    options.add_argument("--runs", type=int, help="how many inputs at most")
    options.add_argument("--seed", type=int, default=1, help="of what is drawn (default %(default)s)")
    options.add_argument("--by-chance", action="store_true", help="without atheris, as where it is not installed")
    options.add_argument("--corpus", type=Path, help="folder of inputs to start from and to add to")
    options.add_argument("--input", type=Path, help="try this one file only")
    given = options.parse_args()
    folder = given.corpus or Path(tempfile.mkdtemp(prefix="fuzz-"))
    folder.mkdir(parents=True, exist_ok=True)

    def more(counts: Counts) -> bool:
        enough = given.runs is not None and counts.inputs >= given.runs
        return not enough and time.monotonic() - counts.began < given.seconds

    try:
        if given.input is not None:
            counts = Counts()
            tried(target, given.input.read_bytes(), counts)
        elif GUIDED and not given.by_chance:
            _guided(target, given.seed, folder, more)
        else:
            counts = by_chance(target, given.seed, more)
    except Broken as broken:
        _tell(target, broken, folder)
    print(counts)
    _end(0)


def _guided(target: Target, seed: int, folder: Path, more: Callable[[Counts], bool]) -> NoReturn:
    import atheris

    counts = Counts()

    def one(raw: bytes) -> None:
        if not more(counts):
            print(counts)
            _end(0)
        try:
            tried(target, raw, counts)
        except Exception as error:  # noqa: BLE001  # whatever it is, it is what is looked for
            broken = Broken(raw)
            broken.__cause__ = error
            _tell(target, broken, folder)

    def mutated(raw: bytes, longest: int, number: int) -> bytes:
        chance = random.Random(number)
        if chance.random() < 0.5:
            return bytes(atheris.Mutate(raw, longest))
        return changed(raw, target, chance)[:longest]

    for number, raw in enumerate(target.seeds):
        (folder / f"seed-{number:03}").write_bytes(raw)
    known = Path(tempfile.mkdtemp()) / "words"
    known.write_text("".join(f'"{_escaped(word)}"\n' for word in dict.fromkeys(target.words) if word), encoding="ascii")
    arguments = [f"-seed={seed}", f"-max_len={target.longest}", f"-dict={known}", "-timeout=120", "-rss_limit_mb=2000"]
    atheris.Setup([sys.argv[0], *arguments, str(folder)], one, custom_mutator=mutated)
    atheris.Fuzz()
    raise AssertionError("the library ends the process")


def _escaped(word: bytes) -> str:
    return "".join(f"\\x{byte:02x}" for byte in word)


def shortened(target: Target, raw: bytes, seconds: float = 20) -> bytes:
    """An input without what it breaks at the same place without, as far as that is found in the time."""
    end, step, same = time.monotonic() + seconds, len(raw) // 2, _place(target, raw)
    while step:
        at = 0
        while at < len(raw) and time.monotonic() < end:
            shorter = raw[:at] + raw[at + step :]
            if _place(target, shorter) == same:
                raw = shorter
            else:
                at += step
        step //= 2
    return raw


def _place(target: Target, raw: bytes) -> tuple[str, int] | None:
    """Where an input breaks: file and line."""
    try:
        tried(target, raw, Counts())
    except Exception as error:  # noqa: BLE001  # the same
        last = traceback.extract_tb(error.__traceback__)[-1]
        return last.filename, last.lineno or 0
    return None


def _tell(target: Target, broken: Broken, folder: Path) -> NoReturn:
    file = folder / f"broken-{os.getpid()}"
    file.write_bytes(broken.raw)
    traceback.print_exception(broken)
    short = shortened(target, broken.raw)
    file.with_suffix(".short").write_bytes(short)
    print(f"{len(short):,} bytes of it are enough: {short[:1000]!r}", file=sys.stderr)
    print(f"the input is in {file}", file=sys.stderr)
    _end(1)


def _end(code: int) -> NoReturn:
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(code)  # what guides the inputs prints its own counts otherwise, and runs on


def lines_of(texts: Iterable[str]) -> tuple[bytes, ...]:
    """Texts as inputs."""
    return tuple(text.encode() for text in texts)
