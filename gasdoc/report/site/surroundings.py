"""The folder of specs as the pages of one build see it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

from gasdoc.folder.linked import LinkVerdict, judge
from gasdoc.folder.provenance import History, Provenance
from gasdoc.folder.shared_records import NO_RECORDS, Records
from gasdoc.machine import inside
from gasdoc.source import MAX_BYTES
from gasdoc.source import Path as Place

Question = tuple[str, ...]


_HASH = re.compile(r"[0-9a-f]{7,64}")


class Folder:
    """Everything that is read for a build beside the code, the catalogue and the project's own parts and prices.

    `asked` keeps each question with its answer. As long as they are answered alike, the pages made from them are the
    same: `answers_alike` is how one knows that they need not be made again.
    """

    def __init__(self, path: Path, history: History, records: Records = NO_RECORDS) -> None:
        self._path = path
        self._history = history
        self._records = records
        self.asked: dict[Question, object] = {}

    def text(self, name: str) -> bytes | None:
        """The bytes of a file among the specs; None where it cannot be read."""
        answer = self._ask("text", name)
        assert answer is None or isinstance(answer, bytes)
        return answer

    def text_at(self, name: str, revision: str) -> bytes | None:
        """The bytes of a file at a revision; None where they cannot be had."""
        answer = self._ask("text_at", name, revision)
        assert answer is None or isinstance(answer, bytes)
        return answer

    def past_texts(self, name: str) -> tuple[bytes, ...]:
        """The bytes of a spec at its last commits, the latest first."""
        answer = self._ask("past", name)
        assert isinstance(answer, tuple)
        return answer

    def provenance(self, name: str) -> Provenance | None:
        """Where a spec comes from."""
        answer = self._ask("provenance", name)
        assert answer is None or isinstance(answer, Provenance)
        return answer

    def shared(self, name: str) -> dict[Place, tuple[str, ...]]:
        """The records of a spec that other specs hold too, by their place."""
        answer = self._ask("shared", name)
        assert isinstance(answer, dict)
        return answer

    def judge(self, path: str) -> LinkVerdict:
        """What a link to a path among the specs leads to."""
        answer = self._ask("judge", path)
        assert isinstance(answer, LinkVerdict)
        return answer

    def answers_alike(self, asked: Mapping[Question, object]) -> bool:
        """Whether every question would be answered now as it was then."""
        return all(
            _for_good(question, answer) or self._answer(question) == answer for question, answer in asked.items()
        )

    def _ask(self, *question: str) -> object:
        if question not in self.asked:
            self.asked[question] = self._answer(question)
        return self.asked[question]

    def _answer(self, question: Question) -> object:
        match question:
            case "text_at", name, revision:
                return self._history.text_at(name, revision)
            case "shared", name:
                return dict(self._records.of(name))
            case "past", name:
                return self._history.past_texts(name)
            case "provenance", name:
                return self._history.specs.get(name)
            case "judge", path:
                return judge(self._path, path)
            case "text", name:
                try:
                    return inside.read(self._path / name, self._path, MAX_BYTES + 1)
                except OSError:
                    return None
        raise AssertionError(question)


def _for_good(question: Question, answer: object) -> bool:
    """Whether an answer can never be another: the text at a commit named by its hash."""
    return question[0] == "text_at" and answer is not None and _HASH.fullmatch(question[2]) is not None
