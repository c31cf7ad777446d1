"""Screwed pipe by the piece, as a table."""

from __future__ import annotations

from typing import Any

from gasdoc.report.words import Quantities
from gasdoc.study import Study
from gasdoc.study.materials.screwed import CutPipe


def view(study: Study, q: Quantities) -> dict[str, Any] | None:
    """Every pipe with its cut length or what is missing for it; None where there is no screwed pipe."""
    pipes = study.pipes
    if not pipes:
        return None
    threads = list({(p.thread.kind, p.thread.size): p.thread for p in pipes if p.thread is not None}.values())
    return {
        "rows": [_row(study, pipe, q) for pipe in pipes],
        "threads": [
            {
                "name": f"{thread.kind.upper()} {thread.size}",
                "cut": q(float(thread.cut), "cut length"),
                "count": thread.count,
                "rules": [(rule.rule, q(float(rule.length), "cut length")) for rule in thread.make_up],
                "source": thread.source,
            }
            for thread in threads
        ],
        "sources": list(
            dict.fromkeys(end.source for p in pipes for end in (p.before, p.after) if end.source is not None)
        ),
    }


def _row(study: Study, pipe: CutPipe, q: Quantities) -> list[Any]:
    name = study.build.labels[pipe.run] + (f", pipe {pipe.number} of {pipe.of}" if pipe.of > 1 else "")
    between = f"{pipe.before.words} and {pipe.after.words}"
    centres = q(pipe.centres, "cut length") if pipe.centres is not None else "not stated"
    if pipe.cut is None or pipe.shortest is None or pipe.longest is None:
        return [name, between, centres, "", "", pipe.why or ""]
    notes = [pipe.why] if pipe.why else []
    if pipe.nipple is not None:
        notes.append(f"or a nipple of {q.number(pipe.nipple, 'cut length')} {q.unit('cut length')}")
    if pipe.wrench is False:
        notes.append("no room for a pipe wrench between the fittings")
    spread = f"{q.number(pipe.shortest, 'cut length')} to {q.number(pipe.longest, 'cut length')}"
    return [name, between, centres, q.number(pipe.cut, "cut length"), spread, "; ".join(notes)]
