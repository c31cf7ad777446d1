"""Sources of a page as numbers beside what they stand for, and listed at its end with how sure each is."""

from __future__ import annotations

import re

from markupsafe import Markup

from gasdoc.source import CONFIRMED

LEGEND = {
    "twice": "Read in two or more public texts.",
    "once": "Read in one public text. Look once more before you rely on it.",
    "computed": "Worked out for this build.",
    "practice": "Common practice of the trade. No text was found.",
    "memory": "From the memory of gasdoc's authors, not confirmed. Ask the authority or the maker before you rely on it.",
}
"""What each sign says, in the order of the list."""

_CITED = re.compile(
    r'<span class="citation(?: g-([a-z]+))?">Source: (.*?)(?: <span class="confirmed">\((.*?)\)</span>)?</span>(?:\.(?=\s*</p>))?',
    re.DOTALL,
)
_NUMBER = r'<a class="cite[^>]*>(?:(?!</a>).)*</a>'
_ALONE = re.compile(rf'</(p|dd|li)>\s*<\1 class="small">\s*({_NUMBER})\s*</\1>', re.DOTALL)


def cited(html: Markup) -> Markup:
    """The body of a page with a number and a sign in place of each source, the same for the same source, and the list."""
    numbers: dict[tuple[str, str, str], int] = {}

    def number(found: re.Match[str]) -> str:
        grade, text, mark = (part or "" for part in found.groups())
        n = numbers.setdefault((grade, text, mark), len(numbers) + 1)
        sign, said = f" g-{grade}" if grade else "", f", {CONFIRMED[grade]}" if grade else ""
        return (
            f'<a class="cite{sign}" href="#source-{n}"><span class="hidden">Source </span>{n}'
            f'<span class="hidden">{said}</span></a>'
        )

    body = _ALONE.sub(r" \2</\1>", _CITED.sub(number, html))
    if not numbers:
        return html
    used = {grade for grade, _, _ in numbers}
    legend = "".join(f'<li class="g-{grade}">{words}</li>' for grade, words in LEGEND.items() if grade in used)
    rows = "".join(
        f'<li id="source-{n}">{text}' + (f' <span class="confirmed">({mark})</span></li>' if mark else "</li>")
        for (_, text, mark), n in numbers.items()
    )
    many = f"{len(numbers)} sources" if len(numbers) > 1 else "1 source"
    return Markup(  # noqa: S704  # what was escaped before, put in other places
        f'{body}\n<details class="sources"><summary>{many}, and how sure each is</summary>'
        f'<ul class="legend small" role="list">{legend}</ul><ol class="small">{rows}</ol></details>\n'
    )
