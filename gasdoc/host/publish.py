"""A site that is put in place whole: it is built beside the one before, and takes its place in one step.

Whatever happens on the way - a failure, a full disk, a killed process - the site before stays as it was. What such a run
leaves behind lies in one folder beside the site and is cleared by the next. Knows nothing of MkDocs.
"""

from __future__ import annotations

import ctypes
import errno
import json
import os
import shutil
import stat
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from gasdoc.wrong import Refused

MARK = ".gasdoc-site"
"""The file in a site that names every file gasdoc put there: only such a folder is replaced, and what is not named is kept."""

BEFORE = "before"
"""What the site before is called while it is aside."""

_OURS = "made-by-gasdoc"
"""The file by which the folder beside a site is known for ours, so that it may be cleared."""

_NO_LINK = getattr(os, "O_NOFOLLOW", 0)


def mark(site: Path) -> None:
    """Write down in a finished site what is in it."""
    names = sorted(path.relative_to(site).as_posix() for path in _files(site) if path.name != MARK)
    (site / MARK).write_text(json.dumps(names, indent=0) + "\n", encoding="ascii", newline="\n")


@contextmanager
def in_one_step(site: Path, tell: Callable[[str], None] = lambda _: None) -> Iterator[Path]:
    """A folder to build in, which takes the place of `site` when the block ends without an exception.

    What was put into `site` by hand (a `.git` of a checkout, a CNAME) is carried over; `tell` hears of what is not hidden.
    Raises Refused when `site` holds something else than a site, when another run is at work there, and when nothing can be
    written beside it.
    """
    site = Path(os.path.realpath(site))
    _replaceable(site)
    beside = site.with_name(f".{site.name}.building")
    try:
        _make_beside(beside)
        try:
            lock = os.open(beside / "lock", os.O_RDWR | os.O_CREAT | _NO_LINK, 0o600)
        except FileNotFoundError:  # another run has just removed the folder
            raise Refused(_busy(site)) from None
    except OSError as error:
        raise Refused(_said(error, site, "nothing can be written beside it")) from None
    if not _taken(lock, beside / "lock"):
        os.close(lock)
        raise Refused(_busy(site))
    made = beside / "site"
    try:
        _clear(beside, site)
        made.mkdir()
        if site.is_dir():
            shutil.copymode(site, made)
        yield made
        _take_along(site, made, tell)
        _put_in_place(made, site)
    finally:
        with suppress(OSError):  # the site is whole in any case; what is left is cleared by the next run
            _clear(beside, site)
            # The lock goes last, so that no other run can be at work in the folder that is being cleared.
            shutil.rmtree(beside)
        os.close(lock)


def _make_beside(beside: Path) -> None:
    """Make the folder beside the site, or take the one that an earlier run left. Raises Refused for any other, OSError."""
    beside.parent.mkdir(parents=True, exist_ok=True)
    try:
        beside.mkdir()
    except FileExistsError:
        if not _real_folder(beside):
            raise Refused(f"{beside} is no folder of gasdoc's, and may lead elsewhere. Take it away") from None
        if os.listdir(beside) and not stat.S_ISREG(_mode(beside / _OURS)):
            raise Refused(f"{beside} holds files that gasdoc did not put there. Take it away") from None
        for left in (beside / BEFORE, beside / "site"):
            if _mode(left) and not _real_folder(left):
                raise Refused(f"{left} is no folder of gasdoc's, and may lead elsewhere. Take it away") from None
    os.close(os.open(beside / _OURS, os.O_WRONLY | os.O_CREAT | _NO_LINK, 0o600))


def _mode(path: Path) -> int:
    """What lies there, links not followed; 0 where there is nothing."""
    try:
        return path.lstat().st_mode
    except FileNotFoundError:
        return 0


def _real_folder(path: Path) -> bool:
    return stat.S_ISDIR(_mode(path))


def _files(folder: Path) -> Iterator[Path]:
    """All files below a folder; a link counts as one, whatever it leads to."""
    for place, folders, names in os.walk(folder):
        yield from (Path(place, name) for name in names)
        yield from (Path(place, name) for name in folders if Path(place, name).is_symlink())


def _busy(site: Path) -> str:
    return f"another run is building {site} now. Wait for it, or name another folder with --site-dir"


def _replaceable(site: Path) -> None:
    """Refuse a place that holds anything but a site, for that would be gone; and one that cannot change places."""
    try:
        mode = site.stat().st_mode
    except OSError:
        return
    if os.path.ismount(site):
        raise Refused(f"{site} is a mount and cannot change places with a new site. Name a folder inside it")
    if Path.cwd().is_relative_to(site):
        raise Refused(f"{site} is where this command runs, and is replaced as a whole. Run it from outside")
    if stat.S_ISDIR(mode):
        if any(not name.startswith(".") for name in os.listdir(site)) and not stat.S_ISREG(_mode(site / MARK)):
            raise Refused(
                f"{site} holds files that are not a site made by gasdoc, and they would be lost. Name another folder "
                "for the site, or empty that one"
            )
    else:
        raise Refused(f"{site} is a file. Name a folder for the site")


def _put_in_place(made: Path, site: Path) -> None:
    """Let the new site take the place of the one before, which ends where the new one was."""
    try:
        if not site.exists():
            made.rename(site)
        elif not _exchanged(made, site):
            _two_steps(made, site)
    except OSError as error:
        raise Refused(_said(error, site, "the new site cannot take its place")) from None


def _two_steps(made: Path, site: Path) -> None:
    """Where two folders cannot be exchanged: the one before aside, then the new one in. A run that is killed between the
    two leaves no site, and both folders whole beside it; the next run puts the one before back."""
    site.rename(made.with_name(BEFORE))
    made.rename(site)


def _take_along(site: Path, made: Path, tell: Callable[[str], None]) -> None:
    """Give the new site what somebody else put into the one before."""
    for old in sorted(_others(site)):
        name = old.relative_to(site)
        new = made / name
        if os.path.lexists(new) or any(
            os.path.lexists(made / above) and not _real_folder(made / above) for above in name.parents
        ):
            if name.name != MARK:
                tell(f"{old} gives way to a file of gasdoc's of that name")
            continue
        try:
            new.parent.mkdir(parents=True, exist_ok=True)
            if old.is_dir() and not old.is_symlink():
                shutil.copytree(old, new, symlinks=True, copy_function=_linked)
            else:
                _linked(old, new)
        except (OSError, shutil.Error) as error:
            raise Refused(f"{old} cannot be taken along to the new site: {error}") from None
        if not name.parts[0].startswith("."):
            tell(f"{old} is kept, because gasdoc did not make it")


def _others(site: Path) -> Iterator[Path]:
    """What gasdoc did not put into a site: hidden files and folders at its top, and files that the mark does not name."""
    if not _real_folder(site):
        return
    yield from site.glob(".*")
    ours = _named(site)
    for path in _files(site):
        name = path.relative_to(site)
        if not name.parts[0].startswith(".") and name.as_posix() not in ours:
            yield path


def _named(site: Path) -> frozenset[str]:
    """The files that the mark of a site names."""
    try:
        names = json.loads((site / MARK).read_text(encoding="ascii"))
    except (OSError, ValueError):
        return frozenset()
    return frozenset(map(str, names)) if isinstance(names, list) else frozenset()


def _linked(old: str | Path, new: str | Path) -> None:
    """The same file under another name where the file system can, else a copy."""
    try:
        os.link(old, new, follow_symlinks=False)
    except OSError:
        shutil.copy2(old, new, follow_symlinks=False)


def _clear(beside: Path, site: Path) -> None:
    """Remove the sites that an earlier run, or the exchange, left in the building folder; put one back that was aside."""
    before = beside / BEFORE
    if _real_folder(before) and not os.path.lexists(site):
        before.rename(site)
    for left in (before, beside / "site"):
        if _real_folder(left):
            shutil.rmtree(left)


def _exchanged(one: Path, other: Path) -> bool:
    """Exchange two folders in one step; False where the system or the file system cannot. Raises OSError."""
    if sys.platform == "linux":
        function, arguments = (
            "renameat2",
            (-100, os.fsencode(one), -100, os.fsencode(other), 2),
        )  # AT_FDCWD, RENAME_EXCHANGE
    elif sys.platform == "darwin":
        function, arguments = "renamex_np", (os.fsencode(one), os.fsencode(other), 2)  # RENAME_SWAP
    else:
        return False
    call = getattr(ctypes.CDLL(None, use_errno=True), function, None)
    if call is None:
        return False
    if call(*arguments) == 0:
        return True
    number = ctypes.get_errno()
    if number in (errno.ENOSYS, errno.EINVAL, errno.ENOTSUP):
        return False
    raise OSError(number, os.strerror(number), str(other))


def _taken(lock: int, path: Path) -> bool:
    """Whether the lock, opened from `path`, is ours now; the system gives it back when the process ends, however it ends."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(lock, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        return os.path.samestat(os.fstat(lock), path.stat())  # not one that its owner has just removed
    except OSError:
        return False


def _said(error: OSError, site: Path, what: str) -> str:
    return f"{site}: {what}: {(error.strerror or 'unknown reason').lower()}"
