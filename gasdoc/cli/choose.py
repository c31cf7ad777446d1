"""The command that shows what can be chosen for a build, and takes a choice into its spec."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from gasdoc.build.reader import Build, read_spec, unreadable
from gasdoc.choices.choices import Choices
from gasdoc.choices.choices import choose as all_choices
from gasdoc.choices.filled import Picked, fill
from gasdoc.choices.taking import difference, first_difference, taken
from gasdoc.cli.check import exit_code, spec_path
from gasdoc.cli.output import FINE, INPUT, print_file, print_line
from gasdoc.folder.check import drafted, study_file
from gasdoc.machine import inside
from gasdoc.machine.writing import kept, write_over
from gasdoc.report.formats.choices_text import choices_text
from gasdoc.report.formats.jsonout import choices_json, dumps
from gasdoc.source import MAX_BYTES, Problem, Severity
from gasdoc.study import facts
from gasdoc.study.materials.own_files import read_own
from gasdoc.wrong import Refused


def choose(options: argparse.Namespace) -> int:
    """Print the choices of a build, or the change that taking one makes; the exit code."""
    path = spec_path(options.spec)
    try:
        raw = inside.read(path, path.parent, MAX_BYTES + 1)
        read = read_spec(raw, str(path), path.stem)
    except OSError as error:
        raw, read = b"", unreadable(path, str(path), error)
    of_all, of_own = read_own(path.parent)
    own = of_all.of_build(read.slug)
    found = all_choices(read.build, own) if read.build is not None else None
    if read.build is not None and found is None:  # a name in it means nothing, which its study tells
        problems = study_file(path).read.problems
    else:
        problems = (*drafted(read.problems, draft=read.draft), *of_own)
    for problem in sorted(problems, key=lambda problem: problem.order):
        print(problem, file=sys.stderr)
    if read.build is None or found is None or exit_code(problems, (), strict=False) == INPUT:
        return INPUT
    if options.take is not None:
        if options.format == "json":
            raise Refused("--take shows a change of the spec as text. Leave --format json out")
        return _take(path, raw, read.build, _picked(found, options.take), write=options.write)
    if options.write:
        raise Refused("--write writes what --take names. Say which choice, as in --take design=usual")
    if options.format == "json":
        print_file(dumps(choices_json(found)))
    else:
        print_file(choices_text(found, read.build.spec.title, facts.system(read.build)), end="")
    return FINE


OTHER_SET = (
    "Of each kind the smallest sets are listed. Write another into the spec, as in 'container: {type: dot-20lb, number: 2, "
    "manifold: parallel}'. gasdoc check says then whether it keeps up"
)
"""What to do where a set of containers is meant that is not among the choices."""


def _picked(found: Choices, named: str) -> Picked:
    """What is written for a choice that is named as PART=ID. Raises Refused, with the reason where it does not fit."""
    part, _, name = named.partition("=")
    known = found.ids()
    if part not in known:
        raise Refused(f"--take {named[:60]}: write one of {', '.join(f'{word}=ID' for word in known)}")
    choice = found.choice(part, name)
    there_are = f"there are: {', '.join(known[part]) or 'none'}"
    if choice is None:
        own = f". {OTHER_SET}" if part == "container" else ""
        raise Refused(f"there is no {part} '{name[:60]}', {there_are}{own}")
    if name not in known[part]:
        reasons = " ".join(why.text for why in choice.why_not if choice.fits is None or not why.open).rstrip(".")
        lacking = "is not known yet" if choice.fits is None else "does not fit"
        raise Refused(f"{part} '{name}' {lacking}: {reasons}; {there_are}")
    return choice.picked


def _take(path: Path, raw: bytes, build: Build, picked: Picked, *, write: bool) -> int:
    """Show, or write, the change that a choice makes in its spec."""
    mark, before = ("\ufeff", raw.decode("utf-8-sig")) if raw.startswith(b"\xef\xbb\xbf") else ("", raw.decode())
    after = taken(before, build, picked)
    in_the_way = _in_the_way(after, build, picked)
    if in_the_way is not None:
        print(in_the_way, file=sys.stderr)
        return INPUT
    if not write:
        print_file(difference(before, after, str(path)))
        print_line("nothing is changed. --write writes it", aside=True)
        return FINE
    try:
        reason = kept(path)
        if reason is None and inside.read(path, path.parent, MAX_BYTES + 1) != raw:
            raise Refused(f"{path} has been changed meanwhile. Nothing is written")
        if reason is None:
            write_over(path, (mark + after).encode())
    except OSError as error:
        reason = (error.strerror or "it cannot be written").lower()
    if reason is not None:
        print(_at_top(path, reason), file=sys.stderr)
        return INPUT
    print_line(f"written into {path}", aside=True)
    return FINE


def _at_top(path: Path, reason: str) -> Problem:
    """That a spec is not written, and why."""
    return Problem(
        str(path), 1, 1, Severity.ERROR, reason, "nothing is written. Write the change by hand", "file-write"
    )


def _in_the_way(after: str, build: Build, picked: Picked) -> Problem | None:
    """What in a spec keeps a choice from being written into it: `after` would say something else than the choice."""
    again = read_spec(after.encode(), build.path, build.slug)
    if again.build is None:
        return again.problems[0]
    at = first_difference(fill(build, picked).spec.model_dump(), again.build.spec.model_dump())
    if at is None:
        return None
    key = next((step for step in reversed(at) if isinstance(step, str)), "")
    message = f"with '{key}:' as it stands, this choice cannot be written into the spec"
    remedy = f"change '{key}:' by hand or take it out, then take the choice again"
    return build.problem(at, Severity.ERROR, message, remedy, "choice-key")
