"""What each region's codes ask, as data: rules, tests, cautions, upkeep, questions, and who decides.

Nothing here judges a build. Every row says where it comes from and how well that is confirmed; a row from memory is
shown as such. To add a region, write its `.yaml` beside the others and run the tests.
"""

from __future__ import annotations

from gasdoc.data import DataError
from gasdoc.regions.region import (
    CAUTION_CONDITIONS,
    MEASURES,
    PLACEHOLDERS,
    TASK_CONDITIONS,
    AskedPressure,
    Basis,
    Caution,
    Code,
    Figure,
    Gauge,
    Interval,
    LeakMethod,
    LineTest,
    Measure,
    Pass,
    Plates,
    Question,
    Region,
    Rule,
    Sentence,
    Supply,
    Task,
    UnknownRegion,
    cautions,
    leak_methods,
    questions,
    region,
    region_ids,
    upkeep_tasks,
)

__all__ = [
    "CAUTION_CONDITIONS",
    "MEASURES",
    "PLACEHOLDERS",
    "TASK_CONDITIONS",
    "AskedPressure",
    "Basis",
    "Caution",
    "Code",
    "DataError",
    "Figure",
    "Gauge",
    "Interval",
    "LeakMethod",
    "LineTest",
    "Measure",
    "Pass",
    "Plates",
    "Question",
    "Region",
    "Rule",
    "Sentence",
    "Supply",
    "Task",
    "UnknownRegion",
    "cautions",
    "leak_methods",
    "questions",
    "region",
    "region_ids",
    "upkeep_tasks",
]
