"""A site built or served as the command asks: MkDocs with our plugin, the site put in place whole, errors in plain words."""

from __future__ import annotations

import errno
import gc
import logging
import os
import socket
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import jinja2
from mkdocs.commands.build import build
from mkdocs.config import load_config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import Abort, ConfigurationError, PluginError
from mkdocs.plugins import get_plugin_logger

from gasdoc.host import publish, serving
from gasdoc.host.plugin import GasdocPlugin, Progress
from gasdoc.report.pages import templates
from gasdoc.report.site import site
from gasdoc.source import Severity, printable_lines
from gasdoc.wrong import Refused

log = get_plugin_logger(__name__)

MANY = 50_000
"""How many new objects the collector waits for while a site is built (our choice): nearly all that a build makes lives as long as
the build, and to look through it for garbage again and again takes a twelfth of the time."""


def build_site(
    config_file: str,
    site_dir: str | None,
    *,
    strict: bool,
    level: int = logging.WARNING,
    progress: Progress | None = None,
    on_made: Callable[[site.Site], None] | None = None,
    only: Collection[str] = (),
) -> int:
    """Build the site and return the worst of it: 0 fine, 1 findings at error level, 2 a spec that cannot be taken, 3 a spec
    that gasdoc itself fails on.

    `level` is from which on MkDocs' messages are printed; `progress` is told what is being done; `on_made` gets the site,
    which has the builds named in `only`, all where that is empty.
    Raises `Refused` when the configuration cannot be used, or with `strict` when a spec has problems.
    """
    with _mkdocs_errors(level), _little_collecting():
        config = _configuration(config_file, strict=strict, site_dir=site_dir)
        site_folder = Path(config.site_dir)
        if site_dir is None:
            _inside(site_folder, Path(config.config_file_path).parent)
        plugin = _plugin(config)
        plugin.progress, plugin.only = progress, only
        try:
            config.plugins.on_startup(command="build", dirty=False)
            with _full(site_folder), publish.in_one_step(site_folder, partial(log.warning, "%s")) as folder:
                config.site_dir = str(folder)
                build(config)
        finally:
            plugin.progress, plugin.only = None, ()  # MkDocs keeps a plugin for as long as the process lives
        config.plugins.on_shutdown()
        made = plugin.site
    if on_made is not None:
        on_made(made)
    if made.failures:
        return 3
    if any(problem.counts(Severity.ERROR) for problem in made.problems):
        return 2
    return 1 if made.errors_found else 0


@contextmanager
def _little_collecting() -> Iterator[None]:
    """What a build makes lives to its end, so that to look for garbage early finds none."""
    before = gc.get_threshold()
    gc.set_threshold(MANY)
    try:
        yield
    finally:
        gc.set_threshold(*before)


def _configuration(
    config_file: str, *, strict: bool, site_dir: str | None = None, address: str | None = None
) -> MkDocsConfig:
    """The configuration of a site. Raises Refused where there is none, with what lays one out."""
    if not os.path.lexists(config_file):
        raise Refused(f"there is no {config_file} here. 'gasdoc init' lays out a project, or name one with --config")
    given: dict[str, Any] = {"site_dir": site_dir, "dev_addr": address, "strict": strict or None}
    return load_config(config_file, **{key: value for key, value in given.items() if value is not None})


def _inside(site_folder: Path, project: Path) -> None:
    """Nothing, unless a link that came with the files leads the site out of the project. Raises Refused."""
    if site_folder.is_relative_to(project) and not site_folder.resolve().is_relative_to(project.resolve()):
        raise Refused(
            f"{site_folder} is a link that leads out of the project. Take it away, or name its place with --site-dir"
        )


@contextmanager
def _full(site_folder: Path) -> Iterator[None]:
    """Where nothing more can be written the place that is full is named, not what was to be copied there."""
    try:
        yield
    except OSError as error:
        if error.errno not in (errno.ENOSPC, errno.EFBIG, errno.EDQUOT):
            raise
        reason = (error.strerror or "cannot be written").lower()
        raise Refused(f"the new site cannot be written beside {site_folder}: {reason}") from None


def serve_site(
    config_file: str, address: str, *, strict: bool, announce: Callable[[str], None], level: int = logging.WARNING
) -> None:
    """Serve the site, rebuilding it when a spec, a template or a data file changes; `announce` is told its address.

    Raises `Refused`.
    """
    from mkdocs.commands.serve import serve  # a server, a watcher of files: no other command needs them

    with _mkdocs_errors(level):
        config = _configuration(config_file, strict=strict, address=address)
        _free(*config.dev_addr)
        if serving.is_open(config.dev_addr.host):
            log.warning("everybody who reaches this machine can read the site while it is served at %s", address)
        announce(f"http://{address}{urlsplit(config.site_url or '/').path}")
        serve(config_file, livereload=True, dev_addr=address, strict=strict or None)


def _free(host: str, port: int) -> None:
    """Nothing, where a server can be put there; else raises Refused, before the site is built for nobody."""
    reason = "" if port <= 65535 else "ports go from 0 to 65535"  # some systems would take what is left of a larger one
    try:
        for kind, protocol, number, _, place in (
            socket.getaddrinfo(host, port, type=socket.SOCK_STREAM) if not reason else ()
        ):
            with socket.socket(kind, protocol, number) as held:
                held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
                held.bind(place)
    except OSError as error:
        reason = (error.strerror or "it cannot be had").lower()
    if reason:
        raise Refused(f"cannot serve at {host}:{port}: {reason}. Name another place, as in --address 127.0.0.1:8080")


class _OnLines(logging.Formatter):
    """Messages as they may be printed: a name of a file must not begin a line of its own, nor command a terminal."""

    def format(self, record: logging.LogRecord) -> str:
        """The message, and the traceback if it has one."""
        return printable_lines(super().format(record))


@contextmanager
def _mkdocs_errors(level: int) -> Iterator[None]:
    """MkDocs' messages from `level` on on stderr, and its errors as `Refused`."""
    handler = logging.StreamHandler()
    handler.setFormatter(_OnLines())
    handler.addFilter(
        lambda record: record.levelno >= level or (getattr(record, "draft", False) and level <= logging.WARNING)
    )
    root = logging.getLogger("mkdocs")
    before = root.level
    root.setLevel(min(level, logging.INFO))  # what is only counted, as for --strict, still has to come through
    root.addHandler(handler)
    try:
        yield
    except (ConfigurationError, Abort, PluginError) as error:
        raise Refused(str(error).strip() or "stopped by --strict") from None
    except jinja2.TemplateNotFound as error:  # an OSError, too
        raise Refused(f"{templates.place(error)}: there is no template '{error.name}'") from None
    except OSError as error:
        raise Refused(f"{error.filename or 'the site'}: {(error.strerror or 'cannot be written').lower()}") from None
    except Exception as error:  # a template may raise anything; what comes from elsewhere is our own defect
        where = templates.place(error)
        if where is None:
            raise
        raise Refused(f"{where}: {type(error).__name__}: {error}") from None
    finally:
        root.setLevel(before)
        root.removeHandler(handler)


def _plugin(config: MkDocsConfig) -> GasdocPlugin:
    """Our plugin in a configuration. Raises Refused when it is not there."""
    for plugin in config.plugins.values():
        if isinstance(plugin, GasdocPlugin):
            return plugin
    raise Refused(f"{config.config_file_path} does not use gasdoc: add 'plugins: [gasdoc]'")
