"""A line of a step that people do with their hands, as the data files of the test day and of the order of work have it."""

import re
from collections.abc import Iterable
from typing import Annotated

from msgspec import field

from gasdoc.data import Entry
from gasdoc.scalars import choice, nearest, problem
from gasdoc.source import CONFIRMED, Citation


class Instruction(Entry, frozen=True):
    """One thing to do. `text` has `{names}` to fill; `caution` where it warns."""

    text: str
    caution: bool = False
    cited: str | None = field(default=None, name="citation")
    confirmed: Annotated[str, choice(*CONFIRMED)] | None = None

    @property
    def citation(self) -> Citation | None:
        """Where the line comes from, None where that is where its step does."""
        return Citation(self.cited, self.confirmed) if self.cited is not None and self.confirmed is not None else None

    def _checked(self) -> None:
        if (self.cited is None) != (self.confirmed is None):
            raise problem("data-line", "'citation' and 'confirmed' belong together", "give both, or neither")


def check_places(key: str, text: str, names: Iterable[str], *at: int) -> None:
    """Raise the problem with a place in a text that nothing fills."""
    if re.search(r"[{}]", re.sub(r"\{\w+\}", "", text)):
        raise problem(
            "data-place", "a brace begins or ends no place", "write a place as in '{containers}'", at=(key, *at)
        )
    names = tuple(names)
    for name in re.findall(r"\{(\w+)\}", text):
        if name not in names:
            near = nearest(name, list(names))
            hint = f"did you mean '{near}'?" if near else f"write one of: {', '.join(names)}"
            raise problem("data-place", f"nothing fills '{{{name}}}'", hint, at=(key, *at))
