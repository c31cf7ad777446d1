"""What leaves a project, and what is told of what does not: `check` and `build` on files made to slip through."""

from __future__ import annotations

import io
import os
import struct
import time
import unicodedata
from pathlib import Path

import pytest
from PIL import Image

from gasdoc.cli.command import main
from gasdoc.folder.linked import KEPT, OF_A_BUILD
from gasdoc.published import heic
from gasdoc.report.pages.shipped_files import theme_files

ROOT = Path(__file__).parent.parent.parent
PAGE = "---\npage: yes\n---\n\n"
EXAMPLE = (ROOT / "gasdoc" / "project_files" / "example-hut.md").read_text(encoding="utf-8")
NS = 'xmlns="http://www.w3.org/2000/svg"'
TITLE = next(n for n, line in enumerate(EXAMPLE.splitlines(), 1) if line.startswith("title:"))
LINES = EXAMPLE.rstrip("\n").count("\n") + 1


def pixels(kind: str) -> bytes:
    out = io.BytesIO()
    about = Image.Exif()
    about[0x010F] = "SECRET-MAKER"
    about.get_ifd(0x8825)[29] = "SECRET-PLACE"
    Image.new("RGB", (20, 10), "red").save(out, kind, exif=about)
    return out.getvalue()


WEBP = b"RIFF" + struct.pack("<I", 5_600_004) + b"WEBP" + b"ABCD\0\0\0\0" * 700_000


class Project:
    """A project with one spec, whose log ends in the lines that a test adds."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder = folder
        self.capsys = capsys
        self.settings = ""
        self.log("")

    def write(self, name: str, content: bytes | str) -> None:
        path = self.folder / "specs" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode() if isinstance(content, str) else content)

    def link(self, name: str, target: Path | str) -> None:
        path = self.folder / "specs" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            path.symlink_to(target)
        except OSError:
            pytest.skip("links cannot be made here")

    def log(self, text: str) -> None:
        """The lines stand from line LINES + 4 of the spec on."""
        self.write("hut.md", EXAMPLE.rstrip("\n") + f"\n\n## 2026-05-02: day\n\n{text}\n")

    def run(self, *arguments: str) -> tuple[int, list[str]]:
        """Exit code and the problems of links and files, as they are told."""
        self.capsys.readouterr()
        code = main(list(arguments))
        said = self.capsys.readouterr()
        lines = [line.removeprefix("gasdoc: ") for line in (said.out + said.err).splitlines()]
        return code, sorted(
            line
            for line in lines
            if line.endswith(
                (
                    "link-refused]",
                    "link-missing]",
                    "link-doubt]",
                    "file-read]",
                    "file-replaces]",
                    "file-link]",
                    "folder-kind]",
                )
            )
        )

    def told(self) -> list[str]:
        """The problems, which are the same from `check` and from `build`."""
        start = time.process_time()
        code, checked = self.run("check")
        assert time.process_time() - start < 10  # seconds; each of these took 20 or more, or had no end
        self.folder.joinpath("mkdocs.yml").write_text(
            f"site_name: X\ndocs_dir: specs\nuse_directory_urls: false\nplugins: [gasdoc: {{{self.settings}}}]\n",
            encoding="utf-8",
        )
        built_code, built = self.run("build")
        assert built == checked
        assert (code == 2) == (built_code == 2) == any(": error: " in line for line in checked)
        return checked

    def site(self) -> set[str]:
        """What of the project's own files is in the site."""
        site = self.folder / "site"
        return {p.relative_to(site).as_posix() for p in site.rglob("*") if p.is_file() and p.suffix != ".html"} - OURS


OURS = {
    *(
        "css/gasdoc.css",
        "img/icon.svg",
        "img/touch-icon.png",
        "js/builds.js",
        "js/page.js",
        "js/search.js",
        "schema/gasdoc-1.json",
        "search-index.js",
    ),
    *("upkeep.ics", "hut/materials.csv", "hut/shopping-list.csv", "hut/supply-tree.svg", "hut/upkeep.ics"),
    *("sitemap.xml", "sitemap.xml.gz", ".gasdoc-site"),
}
PAGE = "---\npage: yes\n---\n\n"


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Project:
    folder = tmp_path / "project"
    folder.mkdir()
    (folder / "mkdocs.yml").write_text("site_name: X\ndocs_dir: specs\nplugins: [gasdoc]\n", encoding="utf-8")
    monkeypatch.chdir(folder)
    return Project(folder, capsys)


def test_only_what_a_page_links_is_published(project: Project) -> None:
    for name in ("a.jpg", "b.jpg", "c.jpg", "d.jpg"):
        project.write(f"pictures/{name}", pixels("JPEG"))
    project.write("pictures/e.txt", "plain")
    project.write("pictures/f.txt", "plain")
    project.write("secret.txt", "not linked")
    project.write("CNAME", "example.org")
    project.write("hut/evil.js", "alert(1)")
    project.write("notes/guide.md", f"{PAGE}# Guide\n\n![b](../pictures/b.jpg)\n")
    project.log(
        "![a](pictures/a.jpg) [c][one] `![d](pictures/d.jpg)`\n\n[one]: pictures/c.jpg\n\n[text](pictures/e.txt)"
    )
    assert project.told() == []
    copies = {name for name in project.site() if name.startswith("photos/")}  # of what the build's log shows
    assert project.site() - copies == {"pictures/b.jpg", "pictures/e.txt"}
    assert sorted(name[len("photos/") :][:2] for name in copies) == ["a-", "c-"]
    for name in (*copies, "pictures/b.jpg"):
        assert b"SECRET" not in (project.folder / "site" / name).read_bytes()


KEPT_BACK: list[tuple[str, bytes, str, str]] = [
    ("a.jpg", b"\0\0\0\x18ftypheic\0\0\0\0mif1heicSECRET", "is a HEIC picture", "save it as JPEG"),
    ("b.HEIC", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "is a HEIC picture", "save it as JPEG"),
    ("c.avif", b"\0\0\0\x18ftypavif\0\0\0\0mif1", "is an AVIF picture", "save it as JPEG"),
    ("d.tiff", b"II*\0" + bytes(40), "is a TIFF or raw picture", "save it as JPEG"),
    ("e.gif", b"GIF89a" + bytes(40), "is a GIF picture", "save it as PNG"),
    ("f.mp4", b"\0\0\0\x18ftypisom\0\0\0\0isom", "is a film", "published is no film"),
    ("g.jfif", pixels("JPEG"), "is a JPEG picture by what is in it", "let its name end in .jpg"),
    ("h", pixels("JPEG"), "is a JPEG picture by what is in it", "let its name end in .jpg"),
    ("i.js", b"alert(1)", "is of a kind that is not published", "published are jpg"),
    ("j.html", b"<script>alert(1)</script>", "is of a kind that is not published", "published are jpg"),
    ("k.png", pixels("PNG")[:60], "is damaged or not whole", "copy it again"),
    ("l.svg", f"<svg {NS}>\n<script>1</script></svg>".encode(), "has 'script' in its line 2, column 1", "plain SVG"),
    ("m.svg", f'<svg {NS} viewBox="0 0 {"9" * 400} 1"/>'.encode(), "has a view box of more than 200", "four numbers"),
    (
        "n.svg",
        f'<svg {NS} viewBox="{" " * 30_000}1{" " * 30_000}"/>'.encode(),
        "has a view box of more",
        "four numbers",
    ),
    ("o.webp", WEBP, "has more than 50,000 blocks", "save it again"),
    ("p.csv", b"a,b\n1,=HYPERLINK(1)", "has a formula in its line 2", "save its values"),
    ("q.pdf", b"%PDF-1.4\n1 0 obj <</S/JavaScript/JS(x)>> endobj\n%%EOF", "is a PDF with a script", "print it"),
]


def test_what_may_not_leave_is_told_at_its_link_and_does_not_leave(
    project: Project, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(heic, "can_read", lambda: False)
    for name, content, _, _ in KEPT_BACK:
        project.write(f"hut/{name}", content)
    project.log("\n".join(f"![the valve](hut/{name})" for name, *_ in KEPT_BACK))
    told = sorted(project.told(), key=lambda line: int(line.split(":")[1]))
    assert len(told) == len(KEPT_BACK)
    for number, (line, (name, _, why, remedy)) in enumerate(zip(told, KEPT_BACK, strict=True)):
        place = f"specs/hut.md:{LINES + 4 + number}:14: error: "
        assert line.startswith(f"{place}the picture 'hut/{name}' {why}") and remedy in line
    assert project.site() == set()
    page = (project.folder / "site/hut/log.html").read_text(encoding="utf-8")
    assert page.count("[picture not found: the valve]") == len(KEPT_BACK) and "<img" not in page


NOWHERE = [
    ("hut/nothing.jpg", "is not there"),
    ("hut/photo.jpg", "is not there with these capitals; write 'Photo.jpg'"),
    ("HUT/Photo.jpg", "is not there with these capitals; write 'hut'"),
    ("hut/Phota.jpg", "is not there; did you mean 'Photo.jpg'?"),
    ("hut\\Photo.jpg", "is not there; write '/' between folder and file"),
    ("hut", "is a folder; link a file in it"),
    ("hut/Photo.jpg/x", "is not there"),
    ("hutmd/Photo.jpg", "is not there; did you mean 'hut'?"),
    (".env", "error: the file '.env' has a name that begins with a dot"),
    ("../mkdocs.yml", "error: the file '../mkdocs.yml' leads out of the project"),
    ("/etc/passwd", "is no file of the project and no address"),
    ("javascript:alert", "is no file of the project and no address"),
    ("file:///etc/passwd", "is no file of the project and no address"),
]


def test_a_link_that_leads_nowhere_is_told_at_its_place(project: Project) -> None:
    project.write("hut/Photo.jpg", pixels("JPEG"))
    project.write(".env", "SECRET=1")
    project.log("\n".join(f"[it]({link})" for link, _ in NOWHERE))
    told = sorted(project.told(), key=lambda line: int(line.split(":")[1]))
    assert len(told) == len(NOWHERE)
    for number, (line, (_, what)) in enumerate(zip(told, NOWHERE, strict=True)):
        assert line.startswith(f"specs/hut.md:{LINES + 4 + number}:6: ") and what in line
    assert project.site() == set()


def test_a_name_with_its_letters_stored_another_way_is_told(project: Project) -> None:
    project.write(f"hut/{unicodedata.normalize('NFD', 'café')}.jpg", pixels("JPEG"))
    project.log(f"![it](hut/{unicodedata.normalize('NFC', 'café')}.jpg)")
    [said] = project.told()
    assert f"specs/hut.md:{LINES + 4}:7: warning: " in said and "with its letters stored another way" in said


def test_a_link_to_another_build_leads_to_its_overview(project: Project) -> None:
    project.write("other-hut.md", EXAMPLE)
    project.write("guide.md", f"{PAGE}# Guide\n")
    project.log("[other](other-hut.md#x) [guide](guide.md)")
    assert project.told() == []
    page = (project.folder / "site/hut/log.html").read_text(encoding="utf-8")
    assert 'href="../other-hut/index.html#x"' in page and 'href="../guide.html"' in page


# --- files that would take the place of gasdoc's own -----------------------------------------------------------------


TAKING = [
    ("css/gasdoc.css", ".cautions{display:none}", "css/gasdoc.css"),
    ("CSS/GasDoc.css", ".cautions{display:none}", "css/gasdoc.css"),
    ("js/builds.js", "alert(1)", "js/builds.js"),
    ("js/search.js", "alert(1)", "js/search.js"),
    ("img/icon.svg", f"<svg {NS}/>", "img/icon.svg"),
    ("sitemap.xml", "<x/>", "sitemap.xml"),
    ("robots.txt", "Disallow: /", "robots.txt"),
    ("404.html", "gone", "404.html"),
    ("feed.xml", "<x/>", "feed.xml"),
    ("search-index.js", "alert(1)", "search-index.js"),
    ("hut/Materials.csv", "a,b", "hut/materials.csv"),
    ("hut/supply-tree.svg", f"<svg {NS}/>", "hut/supply-tree.svg"),
    ("hut/upkeep.ics", "BEGIN:VCALENDAR", "hut/upkeep.ics"),
]


def test_nothing_takes_the_place_of_a_file_of_gasdocs(project: Project) -> None:
    project.write("guide.md", f"{PAGE}# Guide\n")
    project.told()
    site = project.folder / "site"
    ours = {
        path: (site / path).read_bytes()
        for path in OURS
        if (site / path).is_file() and not path.startswith((".", "sitemap"))
    }
    assert len(ours) == 13
    guarded = {*theme_files(), *KEPT, *(f"hut/{name}" for name in OF_A_BUILD)}
    assert set(ours) - {"schema/gasdoc-1.json"} <= guarded  # the schema among the specs is the editors' own copy
    for name, content, _ in TAKING:
        project.write(name, content)
    project.write("guide.md", f"{PAGE}# Guide\n\n" + "\n".join(f"[it]({name})" for name, *_ in TAKING))
    told = [line for line in project.told() if line.endswith("[file-replaces]")]
    if (project.folder / "specs/CSS/gasdoc.css").exists():
        pytest.skip("this computer does not tell capitals apart")
    assert len(told) == len(TAKING)
    for name, _, taken in TAKING:
        [line] = [line for line in told if line.startswith(f"specs/{name}:1:1: error: ")]
        assert f"would take the place of {taken}, " in line and "overrides: true" in line
    assert ours == {path: (site / path).read_bytes() for path in ours}
    assert project.site() == set()


def test_what_the_configuration_names_is_published_as_it_is(project: Project) -> None:
    project.write("css/gasdoc.css", "body{}")
    project.write("own.css", "body{}")
    project.write("CNAME", "example.org")
    project.settings = "overrides: true, publish: [CNAME, own.css]"
    project.folder.joinpath("mkdocs.yml").write_text("plugins: [gasdoc: {overrides: true}]", encoding="utf-8")
    assert project.told() == []
    assert project.site() == {"own.css", "CNAME"}
    assert (project.folder / "site/css/gasdoc.css").read_text(encoding="utf-8") == "body{}"


def test_a_style_of_the_projects_own_that_the_configuration_names_is_published(project: Project) -> None:
    project.write("own.css", "body{}")
    project.write("own.js", "1")
    with (project.folder / "mkdocs.yml").open("a", encoding="utf-8") as file:
        file.write("extra_css: [own.css]\nextra_javascript: [own.js]\n")
    assert project.run("build")[0] in (0, 1)
    assert project.site() == {"own.css", "own.js"}


# --- links out of the project, and what is no file ---------------------------------------------------------------------


@pytest.mark.parametrize("name", ["other.md", "prices.yaml", "parts.yaml", "guide.md", "notes/deep.md"])
def test_a_link_out_of_the_project_is_read_by_nobody(project: Project, name: str) -> None:
    outside = project.folder.parent / "private"
    outside.write_text(
        EXAMPLE.replace("title:", "title: SECRET-TITLE") if name == "other.md" else "SECRET: word", encoding="utf-8"
    )
    project.link(name, outside)
    [told] = project.told()
    hint = "check the file [file-read]" if name.endswith(".yaml") else "copy the file to where the link is [file-link]"
    assert told == f"specs/{name}:1:1: error: it is a link to a file outside the project; {hint}"
    assert not any(b"SECRET" in path.read_bytes() for path in (project.folder / "site").rglob("*") if path.is_file())


def test_a_picture_out_of_the_project_is_refused_behind_any_link(project: Project) -> None:
    outside = project.folder.parent / "outside"
    outside.mkdir()
    (outside / "a.png").write_bytes(pixels("PNG"))
    project.link("a.png", outside / "a.png")
    project.link("b.png", "a.png")
    project.log("![a](a.png) ![b](b.png)")
    told = [line for line in project.told() if line.endswith("[link-refused]")]
    assert len(told) == 2 and all("error: the picture" in line and "leads out of the project" in line for line in told)
    assert project.site() == set()


def test_a_link_that_stays_in_the_project_is_followed(project: Project) -> None:
    (project.folder / "shared").mkdir()
    (project.folder / "shared" / "a.png").write_bytes(pixels("PNG"))
    project.link("a.png", "../shared/a.png")
    project.link("prices.yaml", "../shared/prices.yaml")
    (project.folder / "shared" / "prices.yaml").write_text(
        "currency: USD\ndate: 2026-01-01\nitems: {}\n", encoding="utf-8"
    )
    project.log("![a](a.png)")
    assert project.told() == []
    [copy] = project.site()
    assert copy.startswith("photos/a-") and copy.endswith(".png")
    assert b"SECRET" not in (project.folder / "site" / copy).read_bytes()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
@pytest.mark.parametrize("name", ["f.md", "prices.yaml", "parts.yaml", "notes/f.md"])
def test_a_pipe_is_not_waited_for(project: Project, name: str) -> None:
    (project.folder / "specs" / "notes").mkdir()
    os.mkfifo(project.folder / "specs" / name)
    [told] = project.told()
    companion = name in ("prices.yaml", "parts.yaml")
    what = (
        "it is no plain file; check the file [file-read]" if companion else "this is a pipe; take it away [folder-kind]"
    )
    assert told == f"specs/{name}:1:1: error: {what}"
    assert project.run("check", f"specs/{name}", "--verbose")[0] == 2


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_is_no_picture(project: Project) -> None:
    os.mkfifo(project.folder / "specs" / "f.png")
    project.log("![f](f.png)")
    [at_the_file, at_the_link] = project.told()
    assert "this is a pipe" in at_the_file and "it is no plain file" in at_the_link


# --- pages of the project's own ---------------------------------------------------------------------------------------


def test_html_and_scripts_in_a_page_are_text(project: Project) -> None:
    project.write("evil.txt", "alert(1)")
    project.write(
        "guide.md",
        f'{PAGE}# Guide\n\n<script src="evil.txt"></script>\n\na <b onclick="x">b</b> [c](javascript:alert(1)) [d](evil.txt)\n',
    )
    [told] = project.told()
    assert "specs/guide.md:9:28: warning: the file 'javascript:alert(1)' is no file" in told
    page = (project.folder / "site/guide.html").read_text(encoding="utf-8")
    main_part = page[page.index("<main") : page.index("</main")]
    assert "<script" not in main_part and "<b" not in main_part and "javascript:" not in main_part
    assert "&lt;script src=" in main_part and 'href="evil.txt"' in main_part


def test_html_in_a_page_can_be_allowed(project: Project) -> None:
    project.write("guide.md", f'{PAGE}# Guide\n\n<b class="x">b</b>\n')
    project.settings = "raw_html: true"
    assert project.told() == []
    assert '<b class="x">b</b>' in (project.folder / "site/guide.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("where", "text", "place"),
    [
        ("title", "title: 31 \u202einH2O", f":{TITLE}:"),
        ("title", 'title: "31 \\u202einH2O"', f":{TITLE}:"),
        ("log", "text \u2066 text", f":{LINES + 4}:6:"),
        ("log", "text &#x202E; text", f":{LINES + 4}:6:"),
        ("log", "text &#8238 text", f":{LINES + 4}:6:"),
        ("log", "text &rlm; text", f":{LINES + 4}:6:"),
    ],
)
def test_a_mark_that_turns_the_text_is_refused_with_its_place(
    project: Project, where: str, text: str, place: str
) -> None:
    if where == "title":
        title = next(line for line in EXAMPLE.splitlines() if line.startswith("title:"))
        project.write("hut.md", EXAMPLE.replace(title, text))
    else:
        project.log(text)
    project.capsys.readouterr()
    assert main(["check"]) == 2
    said = project.capsys.readouterr().out
    assert f"specs/hut.md{place}" in said and "turns the direction of the text" in said


def test_letters_of_any_script_are_taken(project: Project) -> None:
    project.log("كوخ עברית 小屋 हिन्दी 👩‍🔧 café")
    assert main(["check"]) in (0, 1)
