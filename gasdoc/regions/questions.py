"""Questions for the authority: those that are asked everywhere, and the form of those a region has of its own."""

import re
from collections.abc import Mapping
from typing import Annotated

from msgspec.structs import replace

from gasdoc import data
from gasdoc.data import Cited, Entry, Some
from gasdoc.regions.cautions import CAUTION_CONDITIONS, refuse_unknown
from gasdoc.scalars import HeldTo, Id, choice, nearest, problem

PLACEHOLDERS: dict[str, str] = {
    "title": "title of the build",
    "region_title": "title of the region's rule set",
    "codes_text": "codes the rule set rests on",
    "container_text": "container: type, size, where and how it is mounted",
    "tubing_text": "materials, sizes and lengths of the line",
    "appliances_text": "appliances with their inputs and how each is vented",
    "ventilation_text": "ventilation openings the build has",
    "alarms_text": "alarms the build has",
    "test_text": "pressure test and leak check as planned or recorded",
    "upkeep_text": "the next tasks of the upkeep calendar",
}
"""Facts of a build that a question may name in braces. `study` supplies all of them."""


def _fillable(text: str) -> str:
    for name in re.findall(r"\{(.*?)\}", text):
        if name not in PLACEHOLDERS:
            near = nearest(name, list(PLACEHOLDERS))
            hint = f"did you mean '{near}'?" if near else f"write one of: {', '.join(PLACEHOLDERS)}"
            raise problem("data-question", f"nothing fills '{{{name}}}'", hint)
    return text


class Question(Cited, frozen=True):
    """A question for the authority, with `{placeholders}` out of PLACEHOLDERS, for builds with a condition in `when`.

    `about` names rows of figures that it asks about, as the ledger does. In a region's file `region rules/...` is its own row.
    """

    id: Id
    text: Annotated[str, HeldTo(_fillable)]
    when: Some[Annotated[str, choice(*CAUTION_CONDITIONS)]] = ("always",)
    about: tuple[str, ...] = ()

    def of(self, region_id: str) -> "Question":
        """The question as a region's own."""
        own = (re.sub("^region ", f"regions/{region_id} ", at) for at in self.about)
        return replace(self, about=tuple(own))

    def filled(self, facts: Mapping[str, str]) -> str:
        """The question with the build's facts in it. Raises KeyError for a fact that is missing."""
        return self.text.format_map(facts)


class _Questions(Entry, frozen=True):
    questions: data.ById[Question]


def questions(own: tuple[Question, ...], conditions: frozenset[str]) -> tuple[Question, ...]:
    """The questions for a build that has `conditions`: the shared ones, then those of its region, `own`.

    Raises ValueError for a condition that is not in CAUTION_CONDITIONS.
    """
    refuse_unknown(conditions, CAUTION_CONDITIONS)
    has = conditions | {"always"}
    shared = data.read("gasdoc.regions", "questions.yaml", _Questions).questions
    return tuple(q for q in shared + own if not has.isdisjoint(q.when))
