"""A project's own templates: text to publish. Whatever they try, no program runs, no file is written, and the place is told."""

from __future__ import annotations

import re
from pathlib import Path

import jinja2
import pytest
from repository import CONFIG, Repository, Run

from gasdoc.report.pages.sandbox import Sandbox
from gasdoc.report.pages.templates import environment

POPEN = "{{ cycler.__init__.__globals__.os.popen('touch MARK').read() }}"

ESCAPES = {
    "a global's module": POPEN,
    "another global's": "{{ lipsum.__globals__['os'].popen('touch MARK').read() }}",
    "every class there is": "{% for c in ''.__class__.__mro__[1].__subclasses__() %}{{ c.__init__.__globals__ }}{% endfor %}",
    "by a filter": "{% set c = cycler | attr('__init__') %}{{ (c | attr('__globals__'))['os'].popen('touch MARK').read() }}",
    "by format": "{{ '{0.__class__.__init__}'.format(cycler).nothing.more }}",
    "what a macro runs in": "{% macro m() %}{% endmacro %}{{ m._environment.from_string('x').render() }}",
    "a list that grows": "{% set l = [] %}{{ l.append(1) }}",
}  # fmt: skip
"""What any template may try."""

HANDED = {
    "another environment": '{{ config.theme.get_env().from_string("{{ cycler.__init__ }}").render() }}',
    "a configuration that is loaded": "{{ config.load_dict({'site_name': 'x'}) }}",
    "the plugin": "{{ config.plugins['gasdoc'].set_epoch() }}",
}
"""What MkDocs hands to the templates of the frame besides."""


@pytest.mark.parametrize("template", ["main.html", "404.html", "pages/log.html", "components.html"])
@pytest.mark.parametrize("text", [POPEN])
def test_a_program_in_a_template_does_not_run_and_its_line_is_told(
    builds: Repository, run: Run, template: str, text: str
) -> None:
    builds.write(f"site_templates/{template}", f"one\n\n{text}\n")
    code, out, err = run("build")
    assert code == 2
    assert re.search(rf"site_templates/{re.escape(template)}:3\b.*SecurityError", out + err), out + err
    assert not (builds.folder / "MARK").exists()


@pytest.mark.parametrize("name", HANDED)
def test_what_mkdocs_hands_to_a_template_cannot_be_used(builds: Repository, run: Run, name: str) -> None:
    builds.write("site_templates/404.html", f"one\n{HANDED[name]}\n")
    code, out, err = run("build")
    assert code == 2
    assert "site_templates/404.html:2: SecurityError" in out + err


def test_a_page_of_the_frame_may_write_no_file(builds: Repository, run: Run) -> None:
    builds.write("site_templates/main.html", "{% if page %}{{ page.file.copy_file() }}{% endif %}")
    code, out, err = run("build")
    assert code == 2 and "site_templates/main.html:1: SecurityError" in out + err


@pytest.mark.parametrize("name", ESCAPES)
def test_no_known_way_out_of_the_sandbox_leads_out(tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    env = environment(tmp_path)
    assert isinstance(env, Sandbox)
    with pytest.raises((jinja2.exceptions.SecurityError, jinja2.exceptions.UndefinedError)):
        env.from_string(ESCAPES[name]).render()
    assert not (tmp_path / "MARK").exists()


def test_outside_the_sandbox_the_trick_works(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    jinja2.Environment(autoescape=True).from_string(POPEN.replace("popen", "system").replace(".read()", "")).render()
    assert (tmp_path / "MARK").exists()


@pytest.mark.parametrize(
    "text",
    [
        "{% for i in range(3) %}{{ loop.cycle('a', 'b') }}{% endfor %}",
        "{% set n = namespace(x=1) %}{% set n.x = n.x + 1 %}{{ n.x }}",
        "{{ dict(a=1).items() | list }}{{ 'a b'.split() | join }}{{ '%s' | format(1) }}",
        "{% macro m(x) %}{{ caller() if caller is defined else x }}{% endmacro %}{{ m(1) }}{% call m(1) %}2{% endcall %}",
    ],
)
def test_what_templates_are_made_of_works_in_the_sandbox(tmp_path: Path, text: str) -> None:
    assert environment(tmp_path).from_string(text).render() == environment(None).from_string(text).render()


def test_with_a_template_of_the_project_every_other_page_stays_the_same(builds: Repository, run: Run) -> None:
    def pages() -> dict[str, bytes]:
        site = builds.folder / "site"
        return {path.relative_to(site).as_posix(): path.read_bytes() for path in site.rglob("*") if path.is_file()}

    assert run("build")[0] == 0
    before = pages()
    builds.write("site_templates/unused.html", "unused")
    assert run("build")[0] == 0
    after = pages()
    after.pop("unused.html", None)
    assert [name for name in before if before[name] != after.get(name)] == []


@pytest.mark.parametrize(
    ("more", "file", "said"),
    [
        ("extra_templates: [x.html]\n", "specs/x.html", "'extra_templates' would run files among the specs"),
        ("hooks: [specs/hook.py]\n", "specs/hook.py", "specs/hook.py is code and lies among the specs"),
        ("", "specs/own/x.html", "specs/own is code and lies among the specs"),
    ],
)
def test_a_configuration_that_takes_specs_for_code_is_refused(
    builds: Repository, run: Run, more: str, file: str, said: str
) -> None:
    own = CONFIG.replace("plugins: [gasdoc]", "plugins: [{gasdoc: {templates: specs/own}}]")
    builds.write("mkdocs.yml", CONFIG + more if more else own)
    builds.write(file, "")
    code, _, err = run("build")
    assert code == 2 and said in err
