"""Fuzzes the reader of specs. Not run by the tests, but for a few inputs. How to run it stands in `fuzzing.py`.

Starts from the small spec of the tests, with each block of the example specs put in in turn, and asks of each input what the
tests ask: an answer with places in the file.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from fuzzing import Target, lines_of, run, watched

with watched(__name__):
    from hostile import HEAD, LOG, SECONDS, answer

    from gasdoc.build import model
    from gasdoc.folder.contents import says_page

ROOT = Path(__file__).parents[2]
PIECES = (
    "---\n", "&a ", "*a", "<<: ", "!!x ", "? ", "|\n", ">\n", "{", "}", "[", "]", "\0", "\ufeff", "\u2028", "\r\n", "1e308 ", "-1 ", "nan ",
    "inf ", " degC", " degF", " ft 6 in", "1 1/2 in", " inH2O", " kBtu/h", " psi", " %", "## 2026-01-01: ", "![a](b.svg)", "```\n",
)  # fmt: skip


def check(raw: bytes) -> int:
    """A whole file."""
    read = answer(raw)
    says_page(raw.decode("utf-8", "replace"))
    return sum(len(str(problem)) for problem in read.problems)


def words() -> list[str]:
    """Every key of the model, and pieces of YAML, of quantities and of Markdown, for the mutator to put in."""
    blocks = [block for block in vars(model).values() if isinstance(block, type) and issubclass(block, model.Block)]
    return [*dict.fromkeys(f"{key}: " for block in blocks for key in block.model_fields), *PIECES]


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


TARGET = Target(check, tuple(seeds()), lines_of(words()), seconds=SECONDS, longest=8_192)

if __name__ == "__main__":
    run(TARGET, "Fuzz the reader of specs.")
