"""The gasdoc command: a thin front on the same code as the site. Results go to stdout, everything else to stderr.

Exit codes: 0 fine; 1 a spec is well formed but has findings at error level; 2 input, options or a program that cannot
be used; 3 gasdoc itself fails; 130 interrupted.
"""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from pathlib import Path

from gasdoc.cli.output import DEFECT, FINE, INPUT, INTERRUPTED, quick_imports, say
from gasdoc.commandline import parser
from gasdoc.wrong import Refused

MODULES = {
    "check": "check",
    "build": "site",
    "pdf": "site",
    "serve": "site",
    "study": "specs",
    "choose": "choose",
    "compare": "specs",
    "new": "specs",
    "init": "specs",
    "capacity": "capacity",
    "catalog": "catalog",
    "schema": "catalog",
    "completion": "completion",
}
"""The module of each command, in which the function of its name does the work. No other one is imported."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code."""
    _open_streams()
    try:
        words = sys.argv[1:] if arguments is None else arguments
        options = parser(words).parse_args(words)
        with quick_imports():
            module = import_module(f"gasdoc.cli.{MODULES[options.command]}")
        code: int = getattr(module, options.command)(options)
        sys.stdout.flush()
        return code
    except Refused as refused:
        say(str(refused))
        return INPUT
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of our output has gone; there is nobody to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FINE
    except OSError as error:  # a full disk, most likely
        if error.filename is None:
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        say(f"{error.filename or 'the output'}: {(error.strerror or 'cannot be written').lower()}")
        return INPUT
    except Exception as error:  # noqa: BLE001  # whatever it is, it is ours, and has an exit code of its own
        return _failed(error)


def _open_streams() -> None:
    """See to it that what is printed has somewhere to go: a shell may have closed a stream, a console may know few letters."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, Path(os.devnull).open("w", encoding="utf-8"))  # noqa: SIM115  # open as long as we run
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _failed(error: Exception) -> int:
    """Say that gasdoc itself fails, with the place in the code, or that its data is damaged; the exit code."""
    import traceback

    from gasdoc.data import DataError

    if isinstance(error, DataError):
        say(f"a data file of gasdoc is damaged: {error}. Mend it, or install gasdoc again")
        return INPUT
    if os.environ.get("GASDOC_TRACEBACK"):
        traceback.print_exception(error)
    last = traceback.extract_tb(error.__traceback__)[-1]
    what = "".join(traceback.format_exception_only(error)).strip()
    say(
        f"this is a defect of gasdoc: {what} "
        f"({Path(last.filename).name}:{last.lineno}). Report it with the same command under GASDOC_TRACEBACK=1"
    )
    return DEFECT


def command() -> None:
    """The command as a program: as `main`, and then the process ends.

    But for a server it ends at once. There is nothing left to close then, and to take down a hundred thousand objects one by
    one would be a tenth of the time of a check.
    """
    code = main()
    if sys.argv[1:2] != ["serve"]:
        for stream in (sys.stdout, sys.stderr):
            with suppress(OSError):
                stream.flush()
        os._exit(code)
    sys.exit(code)


if __name__ == "__main__":
    sys.exit(main())
