"""What the configuration of a site says, and what must not stand in it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from urllib.parse import urljoin

from mkdocs.config import config_options
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.structure.files import File
from msgspec import Struct

from gasdoc.folder.provenance import History, history, source_date_epoch, utc_date


class Settings(Config):  # type: ignore[no-untyped-call]  # MkDocs' class has an untyped hook
    """The plugin's options in mkdocs.yml."""

    templates = config_options.Optional(config_options.Dir(exists=True))
    """The project's own templates; left out, `site_templates` beside mkdocs.yml when there is one."""
    overrides = config_options.Type(bool, default=False)
    """Whether files among the specs may take the place of gasdoc's own style, scripts and icons."""
    publish = config_options.ListOfItems(config_options.Type(str), default=[])
    """Files among the specs that are published as they are, whatever they are, as in [CNAME, robots.txt]."""
    raw_html = config_options.Type(bool, default=False)
    """Whether HTML in the project's own pages is taken as HTML; else it is shown as text."""


def own_templates(config: MkDocsConfig, settings: Settings) -> Path | None:
    """The project's own template folder, if it has one."""
    if settings.templates:
        return Path(settings.templates)
    beside = Path(config.config_file_path).parent / "site_templates"
    return beside if beside.is_dir() else None


def refuse_code_among_specs(config: MkDocsConfig, own: Path | None) -> None:
    """Raise PluginError where a configuration takes a file among the specs for code: specs come from anybody."""
    docs = Path(config.docs_dir).resolve()
    if config.extra_templates:
        raise PluginError(
            "'extra_templates' would run files among the specs as templates. Take it out, and put templates into "
            "site_templates beside the configuration"
        )
    named = [
        *(Path(config.config_file_path).parent / hook for hook in config.hooks),
        *([own] if own is not None else ()),
    ]
    for path in named:
        if path.resolve().is_relative_to(docs):
            raise PluginError(f"{path} is code and lies among the specs, which are data. Put it elsewhere")


def known_history(config: MkDocsConfig) -> History:
    """What git knows of the specs. Raises PluginError when SOURCE_DATE_EPOCH cannot be used."""
    folder = Path(config.docs_dir)
    found = history(folder, [path.name for path in folder.glob("*.md")])
    try:
        _ = found.as_of
    except ValueError as wrong:
        raise PluginError(str(wrong)) from None
    return found


def record_day() -> dt.date:
    """The day on which records are read: that of SOURCE_DATE_EPOCH if the user has set it, else today."""
    return utc_date(source_date_epoch()) or dt.date.today()  # noqa: DTZ011  # the day where the builder is


class Address(Struct, frozen=True):
    """address(target): the whole URL of a source; `target` may end in #anchor. It can be handed to another process."""

    site_url: str
    directory_urls: bool

    def __call__(self, target: str) -> str:
        """The URL."""
        uri, mark, anchor = target.partition("#")
        return urljoin(self.site_url, File(uri, None, "", self.directory_urls).url) + mark + anchor


def address_of(config: MkDocsConfig) -> Address | None:
    """The addresses of a site's places; None where the site's own is not known."""
    return Address(config.site_url, config.use_directory_urls) if config.site_url else None
