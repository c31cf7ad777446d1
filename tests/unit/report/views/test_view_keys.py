"""Every key that a view gives is used by its template. (A key that a template misspells is an error when it is made.)"""

from __future__ import annotations

import ast
import inspect
import posixpath
import shutil
from collections import defaultdict
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

import jinja2
import pytest
from jinja2 import meta, nodes
from places import SPECS

from gasdoc.report.content import tables
from gasdoc.report.pages.templates import environment
from gasdoc.report.site.site import Order, make_site

ENV = environment(None)


@cache
def parsed(name: str) -> nodes.Template:
    assert ENV.loader is not None
    return ENV.parse(ENV.loader.get_source(ENV, name)[0])


def with_parts(name: str) -> set[str]:
    """A template and all that it extends, includes or imports."""
    found, waiting = set(), {name}
    while waiting:
        one = waiting.pop()
        found.add(one)
        waiting |= {part for part in meta.find_referenced_templates(parsed(one)) if part is not None} - found
    return found


def asked(name: str) -> set[str]:
    """The names that a template takes from what it is given."""
    return {found for part in with_parts(name) for found in meta.find_undeclared_variables(parsed(part))}


def looked_up(name: str) -> set[str]:
    """The names that a template looks up in a value, as `row.label`, `row["label"]` or `row.get("label")`."""
    parts = [parsed(part) for part in with_parts(name)]
    return {node.attr for part in parts for node in part.find_all(nodes.Getattr)} | {
        node.value for part in parts for node in part.find_all(nodes.Const) if isinstance(node.value, str)
    }


TABLES = {
    node.value
    for node in ast.walk(ast.parse(inspect.getsource(tables)))
    if isinstance(node, ast.Constant) and isinstance(node.value, str)
}
"""What the maker of tables looks up, which templates hand their rows to."""


def of_rows(value: Any, in_list: bool = False) -> Iterator[str]:
    """The keys of the mappings that stand in lists within a value: what a row says. Others go by ids or by names."""
    if isinstance(value, Mapping):
        yield from (key for key in value if in_list)
        for item in value.values():
            yield from of_rows(item)
    elif isinstance(value, list | tuple):
        for item in value:
            yield from of_rows(item, in_list=True)


@pytest.fixture(scope="module")
def given(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, list[Any]]]:
    """What each template of a page was given while the site of two examples was made, one of them a plan: values by key."""
    found: dict[str, dict[str, list[Any]]] = defaultdict(lambda: defaultdict(list))
    render = jinja2.Template.render

    def recorded(template: jinja2.Template, /, *arguments: Any, **context: Any) -> str:
        for key, value in context.items():
            found[str(template.name)][key].append(value)
        return render(template, *arguments, **context)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(jinja2.Template, "render", recorded)
        folder = tmp_path_factory.mktemp("specs")
        for name in ("bakery-trailer.md", "wood-shop-plan.md"):
            shutil.copy(SPECS / name, folder)
        made = make_site(
            Order(  # without a limit of time it makes them in this process
                folder,
                project_templates=None,
                seconds=None,
                processes=1,
                link=lambda page, to: posixpath.relpath(to, posixpath.dirname(page) or "."),
            )
        )
    assert not made.failures
    return found


def test_every_key_that_a_view_gives_is_used_by_its_template(given: dict[str, dict[str, list[Any]]]) -> None:
    pages = {name: values for name, values in given.items() if "spec" in values}
    assert len(pages) > 12
    common = set.intersection(*(set(values) for name, values in pages.items() if name != "pages/whole.html"))
    unused = {name: sorted(set(values) - common - asked(name)) for name, values in pages.items()}
    assert {name: keys for name, keys in unused.items() if keys} == {}
    assert common - {key for name in pages for key in asked(name)} == set()


def test_every_key_of_a_row_that_a_view_gives_is_looked_up(given: dict[str, dict[str, list[Any]]]) -> None:
    unused = {
        name: sorted(
            {key for one in values.values() for value in one for key in of_rows(value)} - looked_up(name) - TABLES
        )
        for name, values in given.items()
        if "spec" in values
    }
    assert {name: keys for name, keys in unused.items() if keys} == {}


def test_a_key_that_nothing_uses_is_found() -> None:
    assert "title" in asked("pages/container.html") and "day_loads" not in asked("pages/container.html")
    assert set(of_rows({"by id": [{"a": [{"b": 1}]}]})) == {"a", "b"}
