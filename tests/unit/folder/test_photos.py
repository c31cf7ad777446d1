"""The photos that a spec names: what is wrong with them, and where the pages show them."""

from __future__ import annotations

import re
from functools import partial
from typing import Any

import pytest
from made_up_builds import build, outlet, run, text

from gasdoc.build.reader import read_spec
from gasdoc.folder.check import study_of
from gasdoc.folder.linked import LinkVerdict, of_photos
from gasdoc.report.content.links import Links
from gasdoc.report.site.site import Order, Site, make_site
from gasdoc.source import Problem

DRAWING = '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="30"/>'


def spec(**more: Any) -> str:
    return text(
        build(
            run("3 ft", "1/2 in", material="steel"),
            {"valve": {"id": "main", "place": "By the door"}},
            outlet("Cooker", "9 kBtu/h"),
        )
        | more
    )


def told(text: str) -> list[Problem]:
    """What is said of the photos of a spec in a folder where every file is there."""
    read = read_spec(text.encode(), "specs/hut.md", "hut")
    return [p for p in study_of(read, judge=LinkVerdict).read.problems if "photo" in p.code or "picture" in p.code]


@pytest.mark.parametrize(
    ("value", "code"),
    [
        ("hut/plan.pdf", "photo-kind"),
        ("https://example.org/a.jpg", "photo-elsewhere"),
        ("/hut/a.jpg", "photo-elsewhere"),
        ("C:/hut/a.jpg", "photo-elsewhere"),
        ({"file": "hut/a.mp4", "alt": "A film"}, "photo-kind"),
    ],
)
def test_what_is_no_picture_beside_the_spec_is_an_error_at_its_place(value: Any, code: str) -> None:
    written = spec(cover=value)
    (problem,) = told(written)
    assert problem.code == code
    line = written.split("\n")[problem.line - 1]
    assert line[problem.column - 1 :].lstrip('"').startswith(value if isinstance(value, str) else value["file"])


def test_a_photo_may_be_its_files_name_one_block_or_a_list() -> None:
    block = {"file": "hut/a.jpg", "alt": "The hut"}
    for cover in ("hut/a.jpg", block):
        found = read_spec(spec(cover=cover).encode(), "specs/hut.md", "hut").build
        assert found is not None and found.spec.cover is not None and found.spec.cover.file == "hut/a.jpg"
    for photos, number in (("hut/a.jpg", 1), (block, 1), ([block, "hut/b.png"], 2)):
        found = read_spec(spec(joint_photos={"main-ends": photos}).encode(), "specs/hut.md", "hut").build
        assert found is not None and len(found.spec.joint_photos["main-ends"]) == number


def test_a_photo_that_nobody_describes_is_a_note_that_names_it() -> None:
    (problem,) = told(spec(cover="hut/front.jpg"))
    assert str(problem.severity) == "note" and "'hut/front.jpg'" in problem.message and "alt:" in problem.hint
    assert told(spec(cover={"file": "hut/front.jpg", "alt": "The hut"})) == []


def test_a_picture_of_the_log_without_words_is_told_and_one_with_words_is_not() -> None:
    body = "\n## 2026-05-01: begun\n\n![](hut/a.jpg)\n\n![The tee](hut/b.jpg)\n"
    (problem,) = told(spec() + body)
    assert problem.code == "picture-words" and "'hut/a.jpg'" in problem.message


def test_a_photo_of_a_joint_that_is_not_there_says_which_may_be_meant() -> None:
    photo = {"file": "hut/a.jpg", "alt": "A joint"}
    (problem,) = told(spec(joint_photos={"main-end": photo}))
    assert problem.code == "photo-joint" and "did you mean 'main-ends'?" in problem.hint
    assert told(spec(joint_photos={"main-ends": photo})) == []


def test_the_photo_of_a_plate_stays_here_while_numbers_are_masked() -> None:
    plate = {"file": "hut/plate.jpg", "alt": "The plate", "plate": "yes"}
    (problem,) = told(spec(cover=plate))
    assert problem.code == "photo-plate" and "show_numbers" in problem.hint
    for shown, files in (("no", ()), ("yes", ("hut/plate.jpg",))):
        found = read_spec(spec(cover=plate, show_numbers=shown).encode(), "specs/hut.md", "hut").build
        assert found is not None and of_photos(found, LinkVerdict).files == files


def test_a_photo_that_is_not_there_is_told_and_one_that_is_refused_is_an_error() -> None:
    read = read_spec(spec(cover={"file": "hut/a.jpg", "alt": "The hut"}).encode(), "specs/hut.md", "hut")
    assert read.build is not None
    for refused, severity in ((False, "warning"), (True, "error")):
        verdict = LinkVerdict(None, "is not there", "check the path", refused=refused)
        (problem,) = of_photos(read.build, partial(lambda found, path: found, verdict)).problems
        assert str(problem.severity) == severity and "'hut/a.jpg' is not there" in problem.message


# --- where they are shown -------------------------------------------------------------------------------------------


def photo(name: str, **more: str) -> dict[str, str]:
    return {"file": f"hut/{name}.svg", "alt": f"Words of {name}"} | more


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    """The pages of a build with a photo of everything."""
    folder = tmp_path_factory.mktemp("specs")
    names = ("cover", "tank", "governor", "line", "lever", "cooker", "appliance", "joint", "gauge", "logged")
    for name in names:
        (folder / "hut").mkdir(exist_ok=True)
        (folder / "hut" / f"{name}.svg").write_text(DRAWING, encoding="utf-8")
    made = build(
        run("3 ft", "1/2 in", material="steel", photo=photo("line")),
        {"valve": {"id": "main", "place": "By the door", "photo": photo("lever", date="2026-05-02")}},
        outlet("Cooker", "9 kBtu/h"),
    )
    made["container"] |= {"photo": photo("tank", place="East side")}
    made["regulator"] |= {"photo": photo("governor", place="East side", date="2026-05-01")}
    made["supply"][-1]["outlet"] |= {"photo": photo("cooker")}
    made["supply"][-1]["outlet"]["appliance"] |= {"photo": photo("appliance")}
    made["cover"] = photo("cover")
    made["joint_photos"] = {"main-ends": photo("joint")}
    reading = {"time": "10:00", "pressure": "3 psi"}
    made["tests"] = [{"date": "2026-06-01", "kind": "piping", "readings": [reading], "photo": photo("gauge")}]
    body = "\n## 2026-05-03: begun\n\n![Words of logged](hut/logged.svg)\n\n![Again](hut/lever.svg)\n"
    (folder / "hut.md").write_text(text(made, body), encoding="utf-8")
    (folder / "bare.md").write_text(spec(), encoding="utf-8")
    return make_site(Order(folder, project_templates=None, link=Links(directory_urls=False), processes=1))


def page(site: Site, uri: str) -> str:
    (html,) = [page.html for page in site.pages if page.uri == uri]
    return html


@pytest.mark.parametrize(
    ("where", "names"),
    [
        ("hut/index.md", {"cover", "appliance"}),
        ("hut/container.md", {"tank"}),
        ("hut/supply.md", {"governor", "line", "lever", "cooker", "appliance"}),
        ("hut/leak-test.md", {"joint", "gauge"}),
        ("hut/door-sheet.md", {"lever", "tank"}),
        ("hut/log.md", {"logged", "lever"}),
        ("hut/materials.md", set()),
    ],
)
def test_a_photo_stands_where_the_thing_itself_stands(site: Site, where: str, names: set[str]) -> None:
    assert set(re.findall(r'<img [^>]*src="(\w+)\.svg"', page(site, where))) == names


def test_the_card_of_a_build_shows_its_cover(site: Site) -> None:
    assert re.findall(r'<img src="([^"]+)"', page(site, "index.md")) == ["hut/cover.svg"]


def test_the_gallery_has_each_once_by_place_with_the_way_to_where_it_belongs(site: Site) -> None:
    html = page(site, "hut/photos.md")
    shown = re.findall(r'<img src="(\w+)\.svg"', html)
    assert sorted(shown) == sorted(set(shown)) and len(shown) == 10
    groups = [
        (place, re.findall(r'<img src="(\w+)\.svg"', part))
        for place, part in re.findall(r'<h2 id="place-[^"]*">(.*?)</h2>(.*?)(?=<h2|\Z)', html, re.DOTALL)
    ]
    assert dict(groups)["East side"] == ["governor", "tank"]  # the one with a date first
    assert dict(groups)["By the door"] == ["lever"] and dict(groups)["In the build log"] == ["logged"]
    for link in re.findall(r'<figcaption><a href="([^"]+)"', html):
        target, _, anchor = link.partition("#")
        assert f' id="{anchor}"' in page(site, f"hut/{target.removesuffix('.html')}.md"), link


def test_dates_lead_to_the_photos_taken_then(site: Site) -> None:
    html = page(site, "hut/photos.md")
    dates = re.findall(r'<li><time datetime="([\d-]+)">', html)
    assert dates == ["2026-05-01", "2026-05-02", "2026-05-03", "2026-06-01"]  # of the gauge that of its test
    for anchor in re.findall(r'href="#(photo-[^"]+)"', html):
        assert f'<li id="{anchor}">' in html


def test_a_photo_says_which_joints_are_in_it(site: Site) -> None:
    html = page(site, "hut/leak-test.md")
    (number,) = re.findall(r'<li id="joint-main-ends"><strong>(\d+)</strong>', html)
    caption = html.partition('id="photo-joint-main-ends-1"')[2].partition("</figcaption>")[0]
    assert f"joint {number} " in caption
    assert '<a href="#photo-joint-main-ends-1">photo</a>' in html
    of_lever = page(site, "hut/supply.md").partition('id="photo-element-main-1"')[2].partition("</figcaption>")[0]
    assert f"joint {number} " in of_lever


def test_a_build_without_photos_has_no_gallery(site: Site) -> None:
    uris = {page.uri for page in site.pages}
    assert "bare/log.md" in uris and "bare/photos.md" not in uris


def test_the_page_of_the_line_leads_to_the_photos_of_what_stands_in_it(site: Site) -> None:
    html = page(site, "hut/line.md")
    links = re.findall(r'<a href="([\w.-]+)#(photo-(?:element|appliance|joint)[^"]*)"', html.partition("Photos, in")[2])
    assert any(target == "leak-test.html" for target, _ in links)
    assert all(f' id="{anchor}"' in page(site, f"hut/{target.removesuffix('.html')}.md") for target, anchor in links)
