"""Repositories that came from a stranger: whatever they hold, gasdoc starts no program of theirs and is not led elsewhere.

Each attack is first tried on git itself, so that it is known to work there.
"""

from __future__ import annotations

import os
import shutil
import stat
import subprocess
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest
from repository import EXAMPLE, WHO, Repository, Run

from gasdoc.folder.contents import contents
from gasdoc.folder.provenance import History, history, last_commit, lasting, past_texts, text_at
from gasdoc.machine import git, programs
from gasdoc.source import Severity
from gasdoc.wrong import Refused

HOOKS = (
    "post-checkout",
    "post-index-change",
    "pre-auto-gc",
    "reference-transaction",
    "fsmonitor-watchman",
    "read-object",
)


@dataclass(frozen=True)
class Attack:
    """What the stranger's configuration says, COMMAND being what makes the mark; the command of git's that falls for it;
    what the `.git` holds besides."""

    config: str
    falls: Sequence[str] | None
    besides: Callable[[Repository, Path], None] = lambda repository, script: None


def attributes(text: str) -> Callable[[Repository, Path], None]:
    def write(repository: Repository, script: Path) -> None:
        repository.write(".git/info/attributes", text)
        os.utime(repository.folder / "specs/hut.md", (1, 1))  # git looks at the file, not at its times

    return write


def missing(repository: Repository, script: Path) -> None:
    """The text of the first commit is not there: git may fetch it when it is asked for."""
    blob = repository.git("rev-parse", "HEAD~1:specs/hut.md")
    (repository.folder / ".git/objects" / blob[:2] / blob[2:]).unlink()


def signed(repository: Repository, script: Path) -> None:
    text = repository.git("cat-file", "commit", "HEAD")
    head, _, said = text.partition("\n\n")
    lines = "-----BEGIN PGP SIGNATURE-----", "", "aGVsbG8=", "-----END PGP SIGNATURE-----"
    made = subprocess.run(
        ["git", "-C", str(repository.folder), "hash-object", "-t", "commit", "-w", "--stdin"],
        input=f"{head}\ngpgsig " + "\n ".join(lines) + f"\n\n{said}\n",
        capture_output=True,
        text=True,
        check=True,
    )
    repository.git("update-ref", "refs/heads/main", made.stdout.strip())


def included(repository: Repository, script: Path) -> None:
    repository.write(".git/more", f"[core]\n\tfsmonitor = {script}\n")


def for_the_work_tree(repository: Repository, script: Path) -> None:
    repository.write(".git/config.worktree", f"[core]\n\tfsmonitor = {script}\n")


def hooks(repository: Repository, script: Path) -> None:
    for name in HOOKS:
        shutil.copy(script, repository.folder / ".git/hooks" / name)
    os.utime(repository.folder / "specs/hut.md", (1, 1))


STATUS = ("status", "--porcelain")
OLD_TEXT = ("cat-file", "blob", "HEAD~1:specs/hut.md")
PROMISED = '[extensions]\n\tpartialClone = x\n[remote "x"]\n\tpromisor = true\n'

ATTACKS = {
    "fsmonitor": Attack("[core]\n\tfsmonitor = COMMAND\n", STATUS),
    "clean filter": Attack('[filter "x"]\n\tclean = COMMAND\n', STATUS, attributes("* filter=x\n")),
    "process filter": Attack('[filter "x"]\n\tprocess = COMMAND\n', STATUS, attributes("* filter=x\n")),
    "smudge filter": Attack(
        '[filter "x"]\n\tsmudge = COMMAND\n', ("cat-file", "--filters", "HEAD:specs/hut.md"), attributes("* filter=x\n")
    ),
    "textconv": Attack('[diff "x"]\n\ttextconv = COMMAND\n', ("log", "-p"), attributes("* diff=x\n")),
    "external diff": Attack("[diff]\n\texternal = COMMAND\n", ("log", "-p", "--ext-diff")),
    "driver of a diff": Attack('[diff "x"]\n\tcommand = COMMAND\n', ("log", "-p", "--ext-diff"), attributes("* diff=x\n")),
    "signature": Attack("[log]\n\tshowSignature = true\n[gpg]\n\tprogram = COMMAND\n", ("log", "-1"), signed),
    "include": Attack("[include]\n\tpath = more\n", STATUS, included),
    "include of a folder": Attack('[includeIf "gitdir:**"]\n\tpath = more\n', STATUS, included),
    "of the work tree": Attack("[extensions]\n\tworktreeConfig = true\n", STATUS, for_the_work_tree),
    "hooks": Attack("", ("update-index", "--refresh"), hooks),
    "promised by a command": Attack(PROMISED + "\turl = ext::COMMAND\n[protocol \"ext\"]\n\tallow = always\n", OLD_TEXT, missing),
    "promised by ssh": Attack(PROMISED + "\turl = ssh://h/x\n[core]\n\tsshCommand = COMMAND\n", OLD_TEXT, missing),
    "promised by a proxy": Attack(PROMISED + "\turl = git://h/x\n[core]\n\tgitProxy = COMMAND\n", OLD_TEXT, missing),
    "promised from a folder": Attack(PROMISED + "\turl = .\n\tuploadpack = COMMAND\n", OLD_TEXT, missing),
    # Those that git itself does not fall for here, on a machine without a network or a terminal.
    "promised by another helper": Attack(PROMISED + "\turl = x\n\tvcs = COMMAND\n", None, missing),
    "promised by http": Attack(
        PROMISED + "\turl = http://127.0.0.1:9/\n[credential]\n\thelper = COMMAND\n[core]\n\taskPass = COMMAND\n", None, missing
    ),
    "bundle": Attack(PROMISED + "\turl = .\n[fetch]\n\tbundleURI = file:///dev/zero\n", None, missing),
    "pager": Attack("[core]\n\tpager = COMMAND\n[pager]\n\trev-list = COMMAND\n\tls-tree = COMMAND\n\tcat-file = COMMAND\n", None),
    "alias": Attack("[alias]\n\trev-parse = !COMMAND\n\trev-list = !COMMAND\n\tcat-file = !COMMAND\n\tls-tree = !COMMAND\n", None),
    "references of alternates": Attack("[core]\n\talternateRefsCommand = COMMAND\n\teditor = COMMAND\n", None),
    "hook of a server": Attack("[uploadpack]\n\tpackObjectsHook = COMMAND\n", None),
    "trace": Attack("[trace2]\n\teventTarget = COMMAND\n\tnormalTarget = COMMAND\n", None),
}  # fmt: skip


@pytest.fixture
def mark(tmp_path: Path) -> Path:
    """What a stranger's program makes."""
    return tmp_path / "MARK"


@pytest.fixture
def script(tmp_path: Path, mark: Path) -> Path:
    """The stranger's program."""
    path = tmp_path / "command.sh"
    path.write_text(f"#!/bin/sh\necho ran >> '{mark}'\nexit 1\n", encoding="utf-8")
    path.chmod(0o755)
    return path


def everything() -> None:
    """All that is ever asked of git."""
    hut = Path("specs/hut.md")
    history(Path("specs"), ["hut.md"])
    last_commit(hut)
    list(past_texts(hut))
    for revision in ("HEAD", "HEAD~1", "main"):
        try:
            text_at(hut, revision)
            lasting(Path("specs"), revision)
        except Refused:
            pass


@pytest.mark.skipif(os.name == "nt", reason="the stranger's program is a script of a shell")
@pytest.mark.parametrize("name", ATTACKS)
def test_a_folder_that_was_sent_with_its_git_starts_no_program(
    builds: Repository, script: Path, mark: Path, name: str
) -> None:
    attack = ATTACKS[name]
    attack.besides(builds, script)
    with (builds.folder / ".git/config").open("a", encoding="utf-8") as config:
        config.write("[core]\n\trepositoryFormatVersion = 1\n" + attack.config.replace("COMMAND", str(script)))
    if attack.falls is not None:
        subprocess.run(["git", *attack.falls], env=os.environ | WHO, capture_output=True, check=False, timeout=30)
        assert mark.exists(), "git itself does not fall for this"
        mark.unlink()
    everything()
    assert not mark.exists()


@pytest.mark.skipif(os.name == "nt", reason="the stranger's program is a script of a shell")
@pytest.mark.parametrize("setting", ["GIT_NO_LAZY_FETCH", "GIT_ALLOW_PROTOCOL"])
@pytest.mark.parametrize("name", [name for name in ATTACKS if name.startswith("promised") or name == "bundle"])
def test_either_of_two_settings_keeps_what_is_missing_from_being_fetched(
    builds: Repository,
    script: Path,
    mark: Path,
    name: str,
    setting: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # An older git knows only one of them.
    monkeypatch.delitem(git._ENVIRONMENT, setting)
    attack = ATTACKS[name]
    attack.besides(builds, script)
    with (builds.folder / ".git/config").open("a", encoding="utf-8") as config:
        config.write("[core]\n\trepositoryFormatVersion = 1\n" + attack.config.replace("COMMAND", str(script)))
    with pytest.raises(Refused, match="there is no"):
        text_at(Path("specs/hut.md"), "HEAD~1")
    assert not mark.exists()


def disguised(builds: Repository, command: Path | str) -> None:
    """A repository of ordinary files among the specs, with a commit of its own, that says where the files are."""
    specs = builds.folder / "specs"
    bare = builds.folder.parent / "bare"
    subprocess.run(
        ["git", "clone", "--quiet", "--bare", str(builds.folder), str(bare)], env=os.environ | WHO, check=True
    )
    shutil.copytree(bare / "objects", specs / "objects")
    shutil.copy(bare / "HEAD", specs / "HEAD")
    (specs / "refs/heads").mkdir(parents=True)
    (specs / "refs/heads/main").write_text(builds.commits[0] + "\n", encoding="utf-8")
    (specs / "config").write_text(
        "[core]\n\trepositoryformatversion = 0\n\tbare = false\n\tworktree = ..\n" + f"\tfsmonitor = {command}\n",
        encoding="utf-8",
    )


@pytest.mark.skipif(os.name == "nt", reason="the stranger's program is a script of a shell")
def test_a_repository_among_the_specs_starts_no_program_tells_nothing_and_is_named(
    builds: Repository, run: Run, script: Path, mark: Path
) -> None:
    disguised(builds, script)
    with_it = builds.commit()
    bare = os.environ | WHO
    subprocess.run(["git", "-C", "specs", *STATUS], env=bare, capture_output=True, check=False)
    if (
        subprocess.run(["git", "config", "safe.bareRepository"], check=False, capture_output=True).stdout.strip()
        != b"explicit"
    ):
        assert mark.exists(), "git itself does not fall for this"
        mark.unlink()
    for command in (["check"], ["build"]):
        code, out, err = run(*command)
        assert code == 2
        assert "specs:1:1: error: this folder is a git repository among the specs" in out + err
    run("compare", "hut@HEAD~1", "hut@HEAD")
    run("new", "next", "--from", "hut")
    run("new", "older", "--from", "hut", "--at", "HEAD~1")
    everything()
    assert not mark.exists()
    found = history(builds.folder / "specs", ["hut.md"])
    assert found.specs["hut.md"].commit is not None and found.specs["hut.md"].commit.hash == builds.commits[1]
    assert found.repository is not None and found.repository.read("rev-parse", "HEAD") == f"{with_it}\n".encode()


@pytest.mark.parametrize(
    "files",
    [
        ("hut/.git/HEAD", "hut/.git/config"),
        ("hut/.git",),
        ("deep/er/.GIT/config",),
        ("hut/head", "hut/Objects/x", "hut/REFS/y"),
        ("hut/HEAD", "hut/commondir"),
    ],
)
def test_whatever_git_could_take_for_a_repository_among_the_specs_is_an_error(
    builds: Repository, files: Sequence[str]
) -> None:
    for name in files:
        builds.write(f"specs/{name}", "x")
    (problem,) = [p for p in contents(Path("specs")).problems if p.code == "folder-repository"]
    assert problem.path == ("specs/deep/er" if files[0].startswith("deep") else "specs/hut")
    assert problem.severity is Severity.ERROR


def test_a_folder_with_a_head_alone_is_none(builds: Repository) -> None:
    builds.write("specs/hut/HEAD", "x")
    builds.write("specs/hut/objects/x", "x")
    assert "folder-repository" not in {p.code for p in contents(Path("specs")).problems}


# --- led elsewhere --------------------------------------------------------------------------------------------------


@pytest.fixture
def private(tmp_path: Path) -> Repository:
    """A repository of the user's own that nobody should see anything of."""
    made = Repository(tmp_path / "private")
    made.commit(specs__hut=EXAMPLE.replace("Example Hut", "Private"))
    made.commit(specs__hut=EXAMPLE.replace("Example Hut", "Private Hut"))
    return made


def alternates(builds: Repository, private: Repository) -> None:
    builds.write(".git/objects/info/alternates", f"{private.folder}/.git/objects\n")
    builds.write(".git/refs/heads/main", private.commits[1] + "\n")


def git_file(builds: Repository, private: Repository) -> None:
    shutil.rmtree(builds.folder / ".git")
    builds.write(".git", f"gitdir: {private.folder}/.git\n")


def link(builds: Repository, private: Repository) -> None:
    shutil.rmtree(builds.folder / ".git")
    (builds.folder / ".git").symlink_to(private.folder / ".git")


def common(builds: Repository, private: Repository) -> None:
    builds.write(".git/commondir", f"{private.folder}/.git\n")


def linked_objects(builds: Repository, private: Repository) -> None:
    for name in ("objects", "refs"):
        shutil.rmtree(builds.folder / ".git" / name)
        (builds.folder / ".git" / name).symlink_to(private.folder / ".git" / name)


def false_work_tree(builds: Repository, private: Repository) -> None:
    shutil.rmtree(builds.folder / ".git")
    builds.write(".git", "gitdir: sent/worktrees/x\n")
    builds.write("sent/worktrees/x/HEAD", "ref: refs/heads/main\n")
    builds.write("sent/worktrees/x/gitdir", f"{builds.folder}/.git\n")
    builds.write("sent/worktrees/x/commondir", f"{private.folder}/.git\n")


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
@pytest.mark.parametrize(
    ("lead", "why"),
    [
        (alternates, "takes objects from another repository"),
        (git_file, "leads to a repository that is not its own"),
        (link, "leads to a repository that is not its own"),
        (common, "leads to a repository that is not its own"),
        (linked_objects, "is a link that leads out of the repository"),
        (false_work_tree, "leads to a repository that is not its own"),
    ],
)
def test_a_repository_that_leads_to_another_one_is_not_followed(
    builds: Repository,
    private: Repository,
    run: Run,
    lead: Callable[[Repository, Repository], None],
    why: str,
) -> None:
    lead(builds, private)
    led = subprocess.run(["git", "show", "HEAD:specs/hut.md"], env=os.environ | WHO, capture_output=True, check=False)
    assert b"Private Hut" in led.stdout, "git itself does not fall for this"
    assert why in str(history(Path("specs"), ["hut.md"]).refused)
    code, _, err = run("compare", "hut@HEAD")
    assert code == 2 and why in err


def test_a_commit_put_in_place_of_another_is_not_taken(builds: Repository) -> None:
    builds.git("replace", builds.commits[1], builds.commits[0])
    assert builds.git("show", "HEAD:specs/hut.md") == EXAMPLE.strip()
    assert b"length: 20 ft" in text_at(builds.folder / "specs/hut.md", "HEAD")


def test_the_work_tree_that_a_configuration_names_is_not_gone_to(builds: Repository, private: Repository) -> None:
    builds.git("config", "core.worktree", str(private.folder))
    found = history(builds.folder / "specs", ["hut.md"]).specs["hut.md"]
    assert found.path == "specs/hut.md" and not found.uncommitted
    assert found.commit is not None and found.commit.hash == builds.commits[1]


def test_where_the_environment_says_git_is_does_not_matter(
    builds: Repository, private: Repository, monkeypatch: pytest.MonkeyPatch
) -> None:
    # As in a hook of git's, which may be another repository's.
    monkeypatch.setenv("GIT_DIR", str(private.folder / ".git"))
    monkeypatch.setenv("GIT_INDEX_FILE", str(private.folder / ".git/index"))
    monkeypatch.setenv("GIT_ALTERNATE_OBJECT_DIRECTORIES", str(private.folder / ".git/objects"))
    found = history(builds.folder / "specs", ["hut.md"]).specs["hut.md"]
    assert found.commit is not None and found.commit.hash == builds.commits[1]
    with pytest.raises(Refused):
        text_at(builds.folder / "specs/hut.md", private.commits[1])


def test_a_submodule_is_in_its_own_repository(builds: Repository, private: Repository) -> None:
    builds.git("-c", "protocol.file.allow=always", "submodule", "--quiet", "add", str(private.folder), "sub")
    found = history(builds.folder / "sub/specs", ["hut.md"])
    assert found.refused is None
    assert found.specs["hut.md"].commit is not None and found.specs["hut.md"].commit.hash == private.commits[1]


@pytest.mark.skipif(os.name == "nt" or os.geteuid() != 0, reason="only the superuser can give a folder away")
def test_the_repository_of_another_user_is_refused_as_git_does(
    builds: Repository, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    monkeypatch.delenv("SUDO_UID", raising=False)
    for path in (builds.folder, builds.folder / ".git"):
        os.chown(path, 12345, -1)
    assert "another user owns it" in str(history(builds.folder / "specs", ["hut.md"]).refused)
    config = builds.folder.parent / "of-the-user"
    config.write_text(f"[safe]\n\tdirectory = {builds.folder}\n", encoding="utf-8")
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(config))  # the user says that it may be read
    assert history(builds.folder / "specs", ["hut.md"]).refused is None


# --- what git says and how long it takes ------------------------------------------------------------------------------


def test_files_checked_out_with_other_line_ends_have_no_changes(builds: Repository) -> None:
    hut = builds.folder / "specs/hut.md"
    hut.write_bytes(hut.read_bytes().replace(b"\n", b"\r\n"))
    assert not history(builds.folder / "specs", ["hut.md"]).specs["hut.md"].uncommitted
    hut.write_bytes(hut.read_bytes().replace(b"20 ft", b"21 ft"))
    assert history(builds.folder / "specs", ["hut.md"]).specs["hut.md"].uncommitted


def test_a_repository_with_longer_hashes(tmp_path: Path) -> None:
    made = Repository.__new__(Repository)
    made.folder, made.commits = tmp_path / "long", []
    made.folder.mkdir()
    try:
        made.git("init", "--quiet", "--initial-branch", "main", "--object-format", "sha256")
    except subprocess.CalledProcessError:
        pytest.skip("this git has no sha256")
    commit = made.commit(specs__hut="text")
    found = history(made.folder / "specs", ["hut.md"]).specs["hut.md"]
    assert len(commit) == 64 and found.commit is not None and found.commit.hash == commit and not found.uncommitted


@pytest.mark.parametrize("seconds", ["4294967296", "99999999999999", "18446744073709551614"])
def test_a_commit_of_a_day_that_is_none_has_no_date(builds: Repository, run: Run, seconds: str) -> None:
    tree = builds.git("rev-parse", "HEAD^{tree}")
    who = f"A Builder <builder@example.org> {seconds} +0000"
    made = subprocess.run(
        ["git", "hash-object", "-t", "commit", "-w", "--stdin", "--literally"],
        input=f"tree {tree}\nauthor {who}\ncommitter {who}\n\nlate\n",
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    builds.git("update-ref", "refs/heads/main", made.stdout.strip())
    found = history(builds.folder / "specs", ["hut.md"])
    assert found.head is None and found.specs["hut.md"].commit is None
    if seconds == "4294967296":  # the first that no archive holds
        assert run("build")[0] == 0


def fake(tmp_path: Path, text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A git of ours, first on the path."""
    folder = tmp_path / "programs"
    folder.mkdir()
    (folder / "git").write_text(f"#!/bin/sh\n{text}\n", encoding="utf-8")
    (folder / "git").chmod(0o755)
    monkeypatch.setenv("PATH", f"{folder}{os.pathsep}{os.environ['PATH']}")


@pytest.mark.skipif(os.name == "nt", reason="a git of ours is a script of a shell")
@pytest.mark.parametrize(
    "text",
    [
        "echo x",
        "true",
        "printf '\\377\\0\\n\\n'",
        # It finds the repository, and then says things.
        'case "$*" in *absolute-git-dir*) echo "$PWD/.git";; *timestamp*) echo "soon HEAD";; *) printf "x\\0\\001y\\0";; esac',
        'case "$*" in *absolute-git-dir*) echo "$PWD/.git";; *timestamp*) echo "1 2";; *) printf "1 blob\\thut.md\\0";; esac',
        'case "$*" in *absolute-git-dir*) echo "$PWD/.git";; *timestamp*) echo "1 2";; *) head -c 60000000 /dev/zero;; esac',
    ],
)  # fmt: skip
def test_a_git_that_says_anything_at_all_breaks_nothing(
    builds: Repository, text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    specs = builds.folder / "specs"
    fake(tmp_path, text, monkeypatch)
    assert history(specs, ["hut.md"]).specs["hut.md"].commit is None
    assert last_commit(specs / "hut.md") is None and list(past_texts(specs / "hut.md")) == []
    assert History(specs, 1, {}).text_at("hut.md", "HEAD") is None
    with pytest.raises(Refused):
        lasting(specs, "HEAD")


@pytest.mark.skipif(os.name == "nt", reason="a git of ours is a script of a shell")
def test_a_git_that_does_not_answer_is_ended_and_the_site_built_without_it(
    builds: Repository, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(git, "SECONDS", 0.2)
    fake(tmp_path, "exec sleep 60", monkeypatch)
    began = time.monotonic()
    code, _, err = run("compare", "hut@HEAD")
    assert code == 2 and "git did not answer within 0.2 s" in err
    assert run("build")[0] == 0
    assert "git did not answer within 0.2 s" in caplog.text
    assert time.monotonic() - began < 30


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
@pytest.mark.parametrize("name", ["shallow", "commondir", "HEAD", "packed-refs", "config", "objects/info/commit-graph"])
def test_a_pipe_in_the_place_of_a_file_of_git_keeps_nobody_waiting(
    builds: Repository, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(git, "SECONDS", 0.3)
    (builds.folder / ".git" / name).unlink(missing_ok=True)
    os.mkfifo(builds.folder / ".git" / name)
    began = time.monotonic()
    history(Path("specs"), ["hut.md"])
    assert time.monotonic() - began < 10


# --- programs by their whole path -------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["", ".", "relative", os.pathsep, "{here}", f"{os.pathsep}.{os.pathsep}bin"])
def test_no_program_is_taken_from_the_current_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, path: str
) -> None:
    for place in ("", "relative", "bin"):
        (tmp_path / place).mkdir(exist_ok=True)
        for name in ("git", "git.exe"):
            (tmp_path / place / name).write_text("#!/bin/sh\n", encoding="utf-8")
            (tmp_path / place / name).chmod(stat.S_IRWXU)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PATH", path.format(here=tmp_path))
    assert programs.find("git") is None and programs.find("git", (".exe", ".com")) is None


def test_a_program_is_found_by_its_name_along_the_path_and_by_its_path(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "bin"
    folder.mkdir()
    for name in ("tool", "git.exe"):
        (folder / name).write_text("#!/bin/sh\n", encoding="utf-8")
        (folder / name).chmod(stat.S_IRWXU)
    (folder / "text").write_text("", encoding="utf-8")
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{folder}")
    monkeypatch.chdir(tmp_path)
    assert programs.find("tool", ("",)) == str(folder / "tool")
    assert programs.find("git", (".exe", ".com")) == programs.find("git.exe", (".exe",)) == str(folder / "git.exe")
    assert programs.find("text", ("",)) is None and programs.find("nothing", ("",)) is None
    assert programs.find("./bin/tool", ("",)) == programs.find(str(folder / "tool"), ("",)) == str(folder / "tool")
    assert programs.find("./tool", ("",)) is None


@pytest.mark.skipif(os.name == "nt", reason="there are no pipes in folders there")
@pytest.mark.parametrize("name", ["HEAD", "config", "packed-refs"])
def test_a_pipe_in_the_place_of_a_file_of_gits_is_not_waited_for(builds: Repository, name: str) -> None:
    builds.commit(specs__hut=EXAMPLE)
    pipe = builds.folder / ".git" / name
    pipe.unlink(missing_ok=True)
    os.mkfifo(pipe)
    began = time.monotonic()
    with pytest.raises(git.NotTaken, match="no file of git's"):
        git.find(builds.folder)
    assert time.monotonic() - began < 5
