"""Fuzzes what reads and shows a log: words of Markdown, drawn and repeated, up to the length a spec may have. Not run by the tests.

    python tests/robustness/fuzz_log.py --seconds 120 --seed 2

Guided by time, not by what code is reached: the slowest inputs are drawn again with a word changed. Each input must be
answered in 3 s of this processor, the answer may be no more than 20 times as long, and no word may pass as markup. The
first that breaks this is printed and ends the run; at the end the counts and the slowest are printed.
"""

from __future__ import annotations

import argparse
import random
import sys
import time

from growth import LOGS
from hostile import HEAD

from gasdoc.report.markdown import to_html
from gasdoc.spec.reader import read_spec

WORDS = (
    *(make(1) for make in LOGS.values()),
    *(
        "a",
        "\n",
        "\n\n",
        " ",
        "\t",
        "    ",
        "  \n",
        "*",
        "_",
        "**",
        "`",
        "``",
        "```",
        "~~~",
        "[",
        "]",
        "(",
        ")",
        "![",
        "](",
    ),
    *(
        "<",
        ">",
        "&",
        "\\",
        "|",
        "|\n",
        "-|-\n",
        "- ",
        "1. ",
        "> ",
        "# ",
        "## ",
        "===\n",
        "---\n",
        "[a]: ",
        '"',
        "<script>",
    ),
    *("javascript:", "://", "&#x6a;", "é", "\u202e", "{", "}", ":", "+", "=", "klzzwxh:0", "wzxhzdk:0", "amp;", "STX"),
)
SECONDS = 3.0


def took(words: tuple[str, ...], characters: int) -> float:
    """How long a log of these words, repeated, takes. Exits with the words where an answer is not as it must be."""
    unit = "".join(words) or "a"
    text = (unit * (characters // len(unit) + 1))[:characters]
    began = time.process_time()
    build = read_spec(f"---\n{HEAD}---\n{text}".encode(), "s.md", "s").build
    assert build is not None
    log = build.log
    shown = [to_html(log.introduction, lambda path: None, plain=log.plain)]
    shown += [to_html(entry.text, lambda path: None, plain=entry.plain) for entry in log.entries]
    spent = time.process_time() - began
    wrong = "<script" in "".join(shown) or 'href="javascript' in "".join(shown)
    if spent > SECONDS or sum(map(len, shown)) > 20 * characters + 1_000 or wrong:
        sys.exit(
            f"{words!r} at {characters:,} characters: {spent:.1f} s, {sum(map(len, shown)):,} characters, {wrong=}"
        )
    return spent


def main() -> None:
    """Draw until the time is up."""
    options = argparse.ArgumentParser(description="Fuzz what reads and shows a log.")
    options.add_argument("--seconds", type=float, default=120, help="how long (default %(default)s)")
    options.add_argument("--seed", type=int, default=1, help="of what is drawn (default %(default)s)")
    given = options.parse_args()
    chance = random.Random(given.seed)
    slowest: list[tuple[float, tuple[str, ...]]] = []
    count, end = 0, time.monotonic() + given.seconds
    while time.monotonic() < end:
        if slowest and chance.random() < 0.4:
            words = list(chance.choice(slowest)[1])
            words[chance.randrange(len(words))] = chance.choice(WORDS)
        else:
            words = chance.choices(WORDS, k=chance.randint(1, 5))
        spent = took(tuple(words), int(2 ** chance.uniform(7, 19.5)))
        count += 1
        slowest = sorted([*slowest, (spent, tuple(words))], reverse=True)[:20]
    print(f"{count} logs; the slowest:")
    for spent, drawn in slowest[:5]:
        print(f"  {spent:.2f} s  {drawn!r}")


if __name__ == "__main__":
    main()
