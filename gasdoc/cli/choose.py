"""The command that shows what can be chosen for a build, and takes a choice into its spec."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from gasdoc.cli.check import spec_path
from gasdoc.cli.output import FINE, INPUT, Refused, print_file, print_line

if TYPE_CHECKING:
    from pathlib import Path

    from gasdoc.build.reader import Build
    from gasdoc.choices.choices import Choices


def choose(options: argparse.Namespace) -> int:
    """Print the choices of a build, or the change that taking one makes; the exit code."""
    from gasdoc.build.reader import read_spec
    from gasdoc.choices.choices import choose as all_choices
    from gasdoc.report.choices_text import choices_text
    from gasdoc.report.jsonout import choices_json, dumps
    from gasdoc.study import facts
    from gasdoc.study.materials.own_files import read_own

    path = spec_path(options.spec)
    raw = path.read_bytes()
    read = read_spec(raw, str(path), path.stem)
    own, problems = read_own(path.parent)
    found = all_choices(read.build, own) if read.build is not None else None
    if read.build is None or found is None:
        for problem in (*read.problems, *problems, *(_problems(path) if read.build is not None else ())):
            print(problem, file=sys.stderr)
        return INPUT
    if options.take is not None:
        return _take(path, raw, read.build, found, options.take, write=options.write)
    if options.write:
        raise Refused("--write writes what --take names; say which choice, as in --take design=usual")
    if options.format == "json":
        print_file(dumps(choices_json(found)))
    else:
        print_file(choices_text(found, read.build.spec.title, facts.system(read.build)), end="")
    return FINE


def _problems(path: Path) -> tuple[object, ...]:
    """What keeps a spec from being worked out."""
    from gasdoc.folder.check import study_file

    return study_file(path).read.problems


def _take(path: Path, raw: bytes, build: Build, found: Choices, named: str, *, write: bool) -> int:
    """Show, or write, the change that a choice makes in its spec."""
    from gasdoc.build.reader import read_spec
    from gasdoc.choices.filled import fill
    from gasdoc.choices.taking import difference, taken
    from gasdoc.machine.writing import write_over

    part, _, name = named.partition("=")
    known = found.ids()
    if part not in known:
        raise Refused(f"--take {named[:60]}: write one of {', '.join(f'{word}=ID' for word in known)}")
    picked = found.picked(part, name)
    if picked is None:
        raise Refused(f"there is no {part} '{name[:60]}'; there are: {', '.join(known[part]) or 'none'}")
    mark, text = ("\ufeff", raw.decode("utf-8-sig")) if raw.startswith(b"\xef\xbb\xbf") else ("", raw.decode())
    ends = "\r\n" if "\r\n" in text else "\n"
    before = text.replace("\r\n", "\n")
    after = taken(before, build, picked)
    again = read_spec(after.encode(), str(path), path.stem).build
    if again is None or again.spec.model_dump() != fill(build, picked).spec.model_dump():
        raise Refused("this choice cannot be written into the spec as it stands; write it by hand from 'gasdoc choose'")
    if not write:
        print_file(difference(before, after, str(path)))
        print_line("nothing is changed; --write writes it", aside=True)
        return FINE
    if path.read_bytes() != raw:
        raise Refused(f"{path} has been changed meanwhile; nothing is written")
    write_over(path, (mark + after.replace("\n", ends)).encode())
    print_line(f"written into {path}", aside=True)
    return FINE
