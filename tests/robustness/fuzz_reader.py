"""Fuzzes the reader of specs, guided by what of its code an input reaches. Not run by the tests.

    python -m pip install atheris        # into an environment of its own that can import gasdoc
    python tests/robustness/fuzz_reader.py --runs 200000

Starts from the small spec of the tests, with each block of the example specs put in in turn, and asks of each input what the tests ask:
an answer with places in the file, no exception, no more than 2 s and 500 MB. The first input that breaks this stops the
run and is written to `crash-...` in the folder named by --corpus, to become a case of test_reader_hostile.py. At the end
libFuzzer prints how many inputs were run, how fast, the slowest and the memory; the inputs that reach new code stay in
that folder, and a second run goes on from them.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

try:
    import atheris
except ImportError:
    sys.exit("atheris is not installed, so nothing was run: python -m pip install atheris")

with atheris.instrument_imports(include=["gasdoc"]):
    from hostile import HEAD, LOG, answer

    from gasdoc.spec import model
    from gasdoc.study.contents import says_page

ROOT = Path(__file__).parents[2]
PIECES = [
    "---\\x0a",
    "&a ",
    "*a",
    "<<: ",
    "!!x ",
    "? ",
    "|\\x0a",
    ">\\x0a",
    "{",
    "}",
    "[",
    "]",
    "\\x00",
    "\\xef\\xbb\\xbf",
    "\\xe2\\x80\\xa8",
    "\\x0d\\x0a",
    "1e308 ",
    "-1 ",
    "nan ",
    "inf ",
    " degC",
    " degF",
    " ft 6 in",
    "1 1/2 in",
    " inH2O",
    " kBtu/h",
    " psi",
    " %",
    "## 2026-01-01: ",
    "![a](b.svg)",
    "```\\x0a",
]


def one(raw: bytes) -> None:
    """One input: a whole file."""
    answer(raw)
    says_page(raw.decode("utf-8", "replace"))


def words() -> list[str]:
    """Every key of the model, and pieces of YAML, of quantities and of Markdown, for the mutator to put in."""
    blocks = [block for block in vars(model).values() if isinstance(block, type) and issubclass(block, model.Block)]
    return [*(f"{key}: " for block in blocks for key in block.model_fields), *PIECES]


def blocks(head: str) -> dict[str, str]:
    """The text of each top key of a front matter, with what stands below it."""
    found = re.split(r"^(?=[a-z_]+:)", head, flags=re.MULTILINE)
    return {block.partition(":")[0]: block for block in found if ":" in block}


def seeds() -> Iterator[bytes]:
    """The small spec of the tests, and the same with one block of one example in it."""
    small = blocks(HEAD)
    yield f"---\n{HEAD}---\n{LOG}".encode()
    for example in sorted((ROOT / "specs").glob("*.md")):
        head, _, log = example.read_text(encoding="utf-8").removeprefix("---\n").partition("\n---\n")
        for key, block in blocks(head + "\n").items() if log else ():
            yield f"---\n{''.join({**small, key: block}.values())}---\n".encode()
        yield f"---\n{HEAD}---\n{log or head}".encode()


def mutated(raw: bytes, longest: int, seed: int) -> bytes:
    """Lines cut out, doubled and exchanged, or bytes as libFuzzer changes them: the first keep more of the YAML whole."""
    chance = random.Random(seed)
    if chance.random() < 0.5:
        return bytes(atheris.Mutate(raw, longest))
    lines = raw.split(b"\n")
    for _ in range(chance.randint(1, 3)):
        at, other = chance.randrange(len(lines)), chance.randrange(len(lines))
        match chance.randrange(5):
            case 0 if len(lines) > 1:
                del lines[at]
            case 1:
                lines.insert(at, lines[other])
            case 2:
                lines[at], lines[other] = lines[other], lines[at]
            case 3:  # another line's value
                lines[at] = lines[at].partition(b": ")[0] + b": " + lines[other].partition(b": ")[2]
            case _:
                lines[at] = bytes(atheris.Mutate(lines[at] or b" ", len(lines[at]) + 40))
    return b"\n".join(lines)[:longest]


def main() -> None:
    """Lay out the inputs to start from, and hand over to libFuzzer, which ends the process."""
    options = argparse.ArgumentParser(description="Fuzz the reader of specs.")
    options.add_argument("--runs", type=int, default=200_000, help="how many inputs (default %(default)s)")
    options.add_argument("--seed", type=int, default=1, help="of the mutations (default %(default)s)")
    options.add_argument("--longest", type=int, default=8192, help="bytes of an input (default %(default)s)")
    options.add_argument(
        "--corpus", type=Path, help="folder of inputs to start from and to add to; left out, a temporary one"
    )
    given = options.parse_args()
    folder = given.corpus or Path(tempfile.mkdtemp(prefix="fuzz-reader-"))
    folder.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(seeds()):
        (folder / f"seed-{number:03}").write_bytes(seed)
    known = Path(tempfile.mkdtemp()) / "words"
    known.write_text(
        "".join('"' + word.replace('"', '\\"') + '"\n' for word in dict.fromkeys(words())), encoding="ascii"
    )
    arguments = [
        f"-runs={given.runs}",
        f"-seed={given.seed}",
        f"-max_len={given.longest}",
        f"-dict={known}",
        "-timeout=10",
        "-rss_limit_mb=500",
        "-print_final_stats=1",
        f"-artifact_prefix={folder}/",
    ]
    print(f"inputs in {folder}", file=sys.stderr)
    atheris.Setup([sys.argv[0], *arguments, str(folder)], one, custom_mutator=mutated)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
