"""What a study, a check, a comparison and a capacity are as JSON. The reference on the site describes every key.

Version 2 names every key after the field it comes from. Later versions of gasdoc add keys to it; `VERSION` goes up when a
key changes its meaning or goes.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Annotated, Any

from msgspec import Struct

from gasdoc import __version__
from gasdoc.build.model import Locker
from gasdoc.build.photos import Pictured, may_show, pictured
from gasdoc.catalog.tubing import Size
from gasdoc.choices.choices import Choices
from gasdoc.folder.changed import ChangedKey
from gasdoc.folder.compare import Change
from gasdoc.folder.side_by_side import ComparedRow, SideBySide
from gasdoc.quantities import By, Metre, Pascal, Watt
from gasdoc.report.formats.encoder import Encoder
from gasdoc.source import Problem
from gasdoc.study import Study
from gasdoc.study.air.rooms import Fitted, fitted
from gasdoc.study.answers import Answers
from gasdoc.study.container.kinds_that_serve import Servings
from gasdoc.study.container.mounting import NOT_CHECKED
from gasdoc.study.container.other_days import OtherDays
from gasdoc.study.facts import Installation
from gasdoc.study.materials.coverage import CoverageCell, coverage
from gasdoc.study.proof.halving import HalvingStep
from gasdoc.study.proof.standing import Standing
from gasdoc.study.referral.ledger import LedgerFigure, ledger
from gasdoc.study.referral.masked_numbers import MaskedNumber, plates
from gasdoc.study.referral.worklist import Worklist
from gasdoc.study.supply.capacity import Answer, Conditions, LeastSize, Unserved

VERSION = 2


class SourcesDocument(Struct, frozen=True):
    """What `gasdoc catalog sources` prints: every figure of the data files."""

    version: int
    gasdoc: str
    figures: tuple[LedgerFigure, ...]


class CoverageDocument(Struct, frozen=True):
    """What `gasdoc catalog coverage` prints: what the parts on offer cover, and the joints that nothing listed closes."""

    version: int
    gasdoc: str
    cells: tuple[CoverageCell, ...]


class StudyDocument(Struct, frozen=True):
    """What `gasdoc study` prints. `changed` are the keys that differ from what a stale record was made on.

    `alarms` stand by room, null where the spec does not say which there are. `halving` has the steps after a failed test
    by zone. `numbers` are serial and licence numbers as they may be published. `choices` is what can be chosen, null where
    nothing is open. `photos` are those that the spec names and pages may show.
    """

    version: int
    gasdoc: str
    changed: tuple[ChangedKey, ...]
    study: Study
    container_days: OtherDays | None
    would_serve: Servings | None
    mount_not_checked: tuple[str, ...]
    locker: (
        Annotated[
            Locker,
            By("length", "width", "height", "vent_high", "vent_low", "drain", "drain_above_water", "to_opening"),
        ]
        | None
    )
    halving: tuple[tuple[str, tuple[HalvingStep, ...]], ...]
    alarms: tuple[tuple[str, tuple[Fitted, ...] | None], ...]
    numbers: tuple[MaskedNumber, ...]
    choices: Choices | None
    photos: tuple[Pictured, ...]


class CheckedBuild(Struct, frozen=True):
    """How far one build has got, its headline answers, and the keys that differ from what a stale record was made on.
    `worklist` has what is open, by what one does about it."""

    path: str
    standing: Annotated[Standing, By("word", "errors", "codes")]
    changed: tuple[ChangedKey, ...]
    answers: Answers | None
    worklist: Worklist | None


class CheckDocument(Struct, frozen=True):
    """What `gasdoc check --format json` prints: `builds` are the specs that could be taken, `problems` what was found."""

    version: int
    exit_code: int
    builds: tuple[CheckedBuild, ...]
    problems: tuple[Problem, ...]


class CompareDocument(Struct, frozen=True):
    """What `gasdoc compare --format json` prints. `rows` are the table, a value for each of the `builds`.

    `before`, `after` and `changes` say what differs between two builds; of more they are null. Inputs are as the specs write
    them, results are quantities.
    """

    version: int
    gasdoc: str
    builds: tuple[Annotated[Installation, By("slug", "path", "spec")], ...]
    rows: tuple[ComparedRow, ...]
    before: Annotated[Installation, By("slug", "path", "spec")] | None
    after: Annotated[Installation, By("slug", "path", "spec")] | None
    changes: tuple[Change, ...] | None


class CapacityDocument(Struct, frozen=True):
    """What `gasdoc capacity --format json` prints: what one size carries, `path_length` being that from the final regulator
    to the farthest outlet."""

    version: int
    size: Size
    path_length: Metre
    inlet_gauge: Pascal
    drop: Pascal
    answer: Answer | Unserved


class LeastSizesDocument(Struct, frozen=True):
    """What `gasdoc capacity --load --format json` prints: of each material the least size that carries `load`. `region` is null
    where none was named."""

    version: int
    load: Watt
    path_length: Metre
    inlet_gauge: Pascal
    drop: Pascal
    region: str | None
    sizes: tuple[LeastSize, ...]


class ChoicesDocument(Struct, frozen=True):
    """What `gasdoc choose --format json` prints: everything that can be chosen for one build."""

    version: int
    gasdoc: str
    choices: Choices


DOCUMENTS = (
    StudyDocument,
    ChoicesDocument,
    CheckDocument,
    CompareDocument,
    CapacityDocument,
    LeastSizesDocument,
    SourcesDocument,
    CoverageDocument,
)


def dumps(value: Any) -> str:
    """Stable text: keys as written, two spaces, UTF-8."""
    return json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False)


def study_json(study: Study, changed: Sequence[ChangedKey] = (), choices: Choices | None = None) -> dict[str, Any]:
    """The whole study; `changed` are the keys that differ from what a record was made on."""
    build = study.build
    return _written(
        StudyDocument(
            version=VERSION,
            gasdoc=__version__,
            changed=tuple(changed),
            study=study,
            container_days=study.other_days("si"),
            would_serve=study.servings,
            mount_not_checked=NOT_CHECKED if study.mount is not None else (),
            locker=build.spec.container.locker,
            halving=study.halving,
            alarms=tuple((room.id, fitted(room)) for room in study.rooms),
            numbers=plates(build),
            choices=choices,
            photos=tuple(one for one in pictured(build) if may_show(build, one.photo)),
        ),
        study.prices.currency,
    )


def choices_json(found: Choices) -> dict[str, Any]:
    """Everything that can be chosen for a build."""
    return _written(ChoicesDocument(VERSION, __version__, found))


def check_json(
    problems: Sequence[Problem],
    exit_code: int,
    builds: Sequence[tuple[str, Standing, Sequence[ChangedKey], Answers | None, Worklist | None]] = (),
) -> dict[str, Any]:
    """What a check found; `builds` are path, standing, changed keys, answers and list of work of each spec that could be
    taken."""
    taken = tuple(
        CheckedBuild(path, standing, tuple(changed), answers, work) for path, standing, changed, answers, work in builds
    )
    return _written(CheckDocument(VERSION, exit_code, taken, tuple(problems)))


def compare_json(found: SideBySide) -> dict[str, Any]:
    """Builds side by side, and of two what differs."""
    builds, two = tuple(study.build for study in found.studies), found.difference
    pair = (None, None, None) if two is None else (two.before.build, two.after.build, two.changes)
    return _written(CompareDocument(VERSION, __version__, builds, found.rows, *pair))


def capacity_json(size: Size, path_length: float, conditions: Conditions, answer: Answer | Unserved) -> dict[str, Any]:
    """What one size carries: what table, code equation and fit give, what is to be used, and where from."""
    return _written(CapacityDocument(VERSION, size, path_length, conditions.inlet_gauge, conditions.drop, answer))


def least_json(
    load: float, path_length: float, conditions: Conditions, region: str | None, found: tuple[LeastSize, ...]
) -> dict[str, Any]:
    """The least sizes that carry a load, each with what it carries and where that is from."""
    inlet, drop = conditions.inlet_gauge, conditions.drop
    return _written(LeastSizesDocument(VERSION, load, path_length, inlet, drop, region, found))


def sources_json() -> dict[str, Any]:
    """The ledger of figures and their sources."""
    return _written(SourcesDocument(VERSION, __version__, ledger()))


def coverage_json() -> dict[str, Any]:
    """What the parts on offer cover."""
    return _written(CoverageDocument(VERSION, __version__, coverage()))


def _written(document: Any, currency: str | None = None) -> dict[str, Any]:
    found: dict[str, Any] = Encoder(currency).write(document)
    return found
