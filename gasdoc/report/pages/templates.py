"""Where page templates are, and the Jinja environment that reads them. Knows nothing of MkDocs."""

from __future__ import annotations

import sys
import traceback
from contextlib import suppress
from importlib.util import cache_from_source
from pathlib import Path
from typing import Literal

import jinja2
from jinja2.bccache import Bucket

from gasdoc.report.content.cited import cited
from gasdoc.report.content.tables import table_rows
from gasdoc.report.content.words import first_upper, with_code
from gasdoc.report.pages.sandbox import Sandbox
from gasdoc.report.pages.shipped_files import templates_dir
from gasdoc.report.pages.whole_build import sections
from gasdoc.source import Severity
from gasdoc.wrong import Refused

SUFFIXES = (".html", ".xml")
"""Of the files in a folder of templates, those that are templates."""


def search_path(project_templates: Path | None) -> list[Path]:
    """The template folders, first one wins file by file: the project's own (if any), then gasdoc's."""
    own = templates_dir()
    if project_templates is None or project_templates.resolve() == own.resolve():
        return [own]
    return [project_templates, own]


def check_own(project_templates: Path | None) -> None:
    """Read every template of a project, so that a broken one is told before anything is made, whatever uses it.

    Raises Refused with file and line.
    """
    env = jinja2.Environment()  # noqa: S701  # it only parses
    for file in sorted(project_templates.rglob("*")) if project_templates is not None else ():
        if file.suffix not in SUFFIXES or not file.is_file():
            continue
        raw = file.read_bytes()
        try:
            env.parse(raw.decode("utf-8"), filename=str(file))
        except UnicodeDecodeError as error:
            line = raw.count(b"\n", 0, error.start) + 1
            raise Refused(
                f"{file}:{line}: byte 0x{raw[error.start]:02x} is not UTF-8. Save the file as UTF-8"
            ) from None
        except jinja2.TemplateSyntaxError as error:
            raise Refused(f"{file}:{error.lineno}: {error.message}") from None


class _Compiled(jinja2.FileSystemBytecodeCache):
    """gasdoc's own templates as Python runs them, kept where Python keeps its compiled modules; `kind` says for which
    environment, because each compiles in its own way. None are written where Python writes none, or cannot.

    Those of a project are few and may lie anywhere, so they are compiled each time.
    """

    def __init__(self, kind: Literal["pages", "frames"], *, safe: bool) -> None:
        super().__init__(str(Path(cache_from_source(__file__)).parent), f"{kind}{'-safe' if safe else ''}-%s.template")
        self.ours = str(templates_dir())

    def get_bucket(self, environment: jinja2.Environment, name: str, filename: str | None, source: str) -> Bucket:
        """The place of one template in the cache, filled where it is there."""
        if filename is not None and filename.startswith(self.ours):
            return super().get_bucket(environment, name, filename, source)
        return Bucket(environment, "", "")  # goes by no name, so it is not written down

    def load_bytecode(self, bucket: Bucket) -> None:
        """Read one template, where it can be read."""
        with suppress(OSError):
            super().load_bytecode(bucket)

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Write one template down."""
        if bucket.key and not sys.dont_write_bytecode:
            with suppress(OSError):
                Path(self.directory).mkdir(parents=True, exist_ok=True)
                super().dump_bytecode(bucket)


def for_frames(env: jinja2.Environment, *, sandboxed: bool) -> jinja2.Environment:
    """MkDocs' environment as the frames of pages need it: it escapes, and may be a sandbox with the same templates, filters and
    names."""
    env.autoescape = True
    env.bytecode_cache = _Compiled("frames", safe=sandboxed)
    if not sandboxed:
        return env
    safe = Sandbox(
        loader=env.loader,
        autoescape=True,
        auto_reload=False,
        extensions=list(env.extensions),
        bytecode_cache=env.bytecode_cache,
    )
    safe.filters |= env.filters
    safe.globals |= {name: value for name, value in env.globals.items() if name not in safe.globals}
    return safe


def place(failure: BaseException) -> str | None:
    """The file and line of the template that an error came up in; None where it came up in none."""
    frames = [f for f in traceback.extract_tb(failure.__traceback__) if Path(f.filename).suffix in SUFFIXES]
    return f"{frames[-1].filename}:{frames[-1].lineno}" if frames else None


def of_project(env: jinja2.Environment) -> bool:
    """Whether a project's own templates are among those of an environment."""
    return isinstance(env, Sandbox)


def environment(project_templates: Path | None) -> jinja2.Environment:
    """A Jinja environment over `search_path`, escaping everything; a name a template misspells is an error.

    A project's own templates run in a sandbox, and ours with them. Made afresh for every build, so that an edited template
    is read again.
    """
    folders = search_path(project_templates)
    safe = len(folders) > 1
    env = (Sandbox if safe else jinja2.Environment)(
        loader=jinja2.FileSystemLoader(folders),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        bytecode_cache=_Compiled("pages", safe=safe),
    )
    env.globals["table_rows"] = table_rows
    env.globals["WARNING"] = Severity.WARNING
    env.filters["sections"] = sections
    env.filters["first_upper"] = first_upper
    env.filters["with_code"] = with_code
    env.filters["cited"] = cited
    return env
