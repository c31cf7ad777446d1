"""For all tests: which are slow, what is left out where a library is not installed, and that no test fails because the machine
was slow (what is timed is measured in benchmarks)."""

from __future__ import annotations

import contextlib
import gc
import os
import shutil
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
SLOW = (
    *(
        "site/test_frame.py",
        "site/test_print.py",
        "site/test_axe.py",
        "site",
        "wheel",
        "versioned",
        "cli",
        "robustness",
    ),
    "reference/test_container_reference.py",
    "reference/test_flow_reference.py",
    "reference/test_from_spec_to_page.py",
    "reference/test_leaktest_reference.py",
    "reference/test_network_reference.py",
    "unit/build/test_model.py",
    "unit/build/test_starter.py",
    "unit/choices/test_choices.py",
    "unit/engineering/materials/test_fewest_parts.py",
    "unit/host/test_plugin.py",
    "unit/machine/test_limited.py",
    "unit/published/test_drawings.py",
    "unit/published/test_papers.py",
    "unit/regions/test_adding.py",
    "unit/report/site/test_build_output.py",
    "unit/report/formats/test_finding_codes.py",
    "unit/report/drawings/line/test_line_drawn.py",
    "unit/report/formats/test_json_keys.py",
    "unit/report/formats/test_jsonout.py",
    "unit/report/pages/test_pages.py",
    "unit/report/site/test_reference.py",
    "unit/report/site/test_search.py",
    "unit/report/pages/test_sections.py",
    "unit/report/views/test_view_keys.py",
    "unit/report/views/test_choices.py",
    "unit/report/views/test_overview.py",
    "unit/report/views/test_sheets.py",
    "unit/study/container/test_coldest_days.py",
    "unit/study/referral/test_ledger.py",
    "unit/study/referral/test_rule_rows.py",
    "unit/study/referral/test_worklist.py",
    "unit/study/proof/test_sequence.py",
    "unit/test_sentences.py",
    "unit/test_kept_results.py",
    "unit/test_slips.py",
    "unit/test_used.py",
)
"""What takes long, because it starts processes or a browser, makes whole sites or tries a great many builds or texts: folders
and files. `pytest -m "not slow"` runs the rest."""

HEAVY = {"coolprop", "pandapipes"}
"""Fixtures whose library takes seconds to load: a test that asks for one is slow, too."""

OPTIONAL = {"CoolProp", "PIL", "feedparser", "fluids", "highspy", "hypothesis", "pandapipes", "vobject"}
"""Libraries of the tests without which a module of tests is left out, with its reason."""

with contextlib.suppress(ImportError):  # its profiles
    import properties  # noqa: F401


class Missing:
    """Is asked last for a module, and leaves out the tests that need one of the libraries that are not here."""

    @staticmethod
    def find_spec(name: str, *_: object) -> None:
        if name in OPTIONAL:
            pytest.skip(f"{name} is not installed; '.[test]' installs it", allow_module_level=True)


sys.meta_path.append(Missing)


def pytest_configure(config: pytest.Config) -> None:
    """What is compiled is kept for the next process and the next run, beside what pytest keeps, and not in the checkout.

    Tests start hundreds of processes, and where Python is told to keep nothing each would compile the whole package again.
    """
    config.option.loadscopereorder = False  # xdist would begin with the files of most tests, and end with the longest
    if config.args_source is pytest.Config.ArgsSource.TESTPATHS:
        config.args = _files(config)
    if config.pluginmanager.has_plugin("cacheprovider"):
        compiled = str(config.cache.mkdir("compiled"))
        if not hasattr(config, "workerinput"):  # of what lay in temporary folders of runs before
            shutil.rmtree(compiled + tempfile.gettempdir(), ignore_errors=True)
        sys.pycache_prefix, sys.dont_write_bytecode = compiled, False
        os.environ["PYTHONPYCACHEPREFIX"] = compiled
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
        os.environ["XDG_CACHE_HOME"] = str(config.cache.mkdir("kept"))  # not among what the user's own builds left
        if not hasattr(config, "workerinput"):
            shutil.rmtree(config.cache.mkdir("kept") / "gasdoc" / "builds", ignore_errors=True)


def _files(config: pytest.Config) -> list[str]:
    """The files of tests of a whole run, without those that are slow where these are left out.

    Each worker begins with others and finds the rest compiled: to compile all takes longer than the slowest of them.
    """
    fast = config.option.markexpr == "not slow"
    files = [path for path in sorted(HERE.rglob("test_*.py")) if not (fast and any(map(path.is_relative_to, _slow())))]
    worker: dict[str, Any] = getattr(config, "workerinput", {"workerid": "gw0", "workercount": 1})
    first = len(files) * int(worker["workerid"].removeprefix("gw")) // worker["workercount"]
    return [str(path) for path in (*files[first:], *files[:first])]


def _slow() -> list[Path]:
    return [HERE / name for name in SLOW]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    slow = _slow()
    if missing := [str(path) for path in slow if not path.exists()]:
        raise pytest.UsageError(f"marked as slow, but not there: {', '.join(missing)}")
    rank = {
        path: next((n for n, part in enumerate(slow) if path.is_relative_to(part)), len(slow))
        for path in {i.path for i in items}
    }
    for item in items:
        if rank[item.path] < len(slow) or not HEAVY.isdisjoint(getattr(item, "fixturenames", ())):
            item.add_marker(pytest.mark.slow)
    # What takes longest begins first, so that no worker is left with it.
    items.sort(key=lambda item: (rank[item.path], item.path))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """By file, but for the comparisons with other libraries: one worker makes them all, so that only one loads these."""
    from xdist.scheduler import LoadFileScheduling  # type: ignore[import-untyped]  # it has no types

    class ByFile(LoadFileScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return "tests/reference" if nodeid.startswith("tests/reference/") else super()._split_scope(nodeid)

    return ByFile(config, log) if config.option.dist == "loadfile" else None


def pytest_collection_finish() -> None:
    """Nothing that is there by now goes before the last test, so it is never looked through for what may go."""
    gc.freeze()


@pytest.fixture(scope="session")
def example_sites(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The example site as its readers get it, with addresses that name folders and with addresses that name files. Where
    tests run side by side, each of the two is made once for all of them."""
    from mkdocs.commands.build import build
    from mkdocs.config import load_config

    base = tmp_path_factory.getbasetemp()
    folder = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    sites = {mode: folder / f"example-{mode}" for mode in ("folders", "files")}
    for mode, site in sites.items():
        if not _is_mine(site):
            continue
        config = load_config(
            str(HERE.parent / "mkdocs.yml"),
            strict=True,
            site_dir=str(site / "new"),
            use_directory_urls=mode == "folders",
        )
        try:
            config.plugins.on_startup(command="build", dirty=False)
            build(config)
        except BaseException:
            (site / "failed").mkdir()
            raise
        (site / "new").rename(site / "site")
    for site in sites.values():
        while not (site / "site").exists():
            assert not (site / "failed").exists(), "the example site cannot be built; another process says why"
            time.sleep(0.1)
    return {mode: site / "site" for mode, site in sites.items()}


def _is_mine(folder: Path) -> bool:
    """Whether this is the process that makes what is to be in the folder."""
    try:
        folder.mkdir()
    except FileExistsError:
        return False
    return True
