"""The command line as a table: the parser, the completion of shells and the reference are made from it.

argparse and not a library of its own kind: it costs a check a quarter of the time that such a library takes to import.
"""

from __future__ import annotations

import argparse
import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from typing import Literal, NamedTuple, TypeAlias

from gasdoc import __version__

PROGRAM = "gasdoc"


class Word(NamedTuple):
    """One argument, or one option, of a command.

    `spellings` of an option begin with a hyphen; an argument has one, its name. `value` is what its value is called in the
    help, left out for the name in capitals. `number` says how many values there are: none (a switch), one, at most one, any.
    `name` is what it is called among what was read, left out for its spelling; `read` makes a value of its text.
    """

    spellings: tuple[str, ...]
    what: str
    choices: tuple[str, ...] = ()
    default: str | None = None
    value: str | None = None
    number: Literal["none", "one", "maybe", "any"] = "one"
    needed: bool = False
    name: str | None = None
    read: Callable[[str], object] | None = None

    @property
    def is_option(self) -> bool:
        """Whether it is an option, not an argument."""
        return self.spellings[0].startswith("-")

    @property
    def written(self) -> str:
        """How it is written on a line, as in --format FORMAT or [specs ...]."""
        if not self.is_option:
            name = self.value or self.spellings[0]
            return {"any": f"[{name} ...]", "maybe": f"[{name}]"}.get(self.number, name)
        value = self.value or self.spellings[-1].lstrip("-").replace("-", "_").upper()
        return ", ".join(self.spellings) + ("" if self.number == "none" else f" {value}")

    @property
    def explained(self) -> str:
        """What it does, with its default."""
        return self.what % {"default": self.default}

    @property
    def described(self) -> str:
        """The same with the values it may have."""
        if not self.choices or self.value:
            return self.explained
        return f"{self.explained}; one of {', '.join(self.choices)}"


Words: TypeAlias = "tuple[Word | tuple[Word, ...], ...]"
"""The words of a command; of those in a tuple of their own one at most may be given."""


class Command(NamedTuple):
    """One command of the command line; `what` it does, as words that follow "to", and examples of it, one a line."""

    name: str
    what: str
    words: Words
    examples: tuple[str, ...]

    @property
    def every(self) -> Iterator[Word]:
        """All of its words, in their order."""
        for words in self.words:
            yield from (words,) if isinstance(words, Word) else words

    @property
    def usage(self) -> str:
        """How it is written in one line."""
        arguments = [word.written for word in self.every if not word.is_option]
        options = ["[options]"] if any(word.is_option for word in self.every) else []
        return " ".join([PROGRAM, self.name, *arguments, *options])

    @property
    def examples_text(self) -> str:
        """Its examples under their heading."""
        return "examples:\n" + "\n".join(f"  {example}" for example in self.examples)


HELP = Word(("-h", "--help"), "show this help message and exit", number="none")
"""The option that every command has."""

_CONFIG = Word(("--config",), "the site's configuration (default %(default)s)", default="mkdocs.yml")
_STRICT = Word(("--strict",), "stop on problems of the input", number="none")
_FOLDER = Word(("--folder",), "folder of specs (default %(default)s)", default="specs")
_TEXT_OR_JSON = Word(("--format",), "default %(default)s", choices=("text", "json"), default="text")


def _loudness(quiet: str, verbose: str) -> tuple[Word, Word]:
    """How much a command says beside its results."""
    return Word(("-q", "--quiet"), quiet, number="none"), Word(("-v", "--verbose"), verbose, number="none")


def _day(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"'{text[:60]}' is no date. Write it as in 2026-11-30") from None


_LOUDNESS = _loudness("print errors only", "print what MkDocs does, too")

COMMANDS = (
    Command(
        "check",
        "say everything that is wrong with specs",
        (
            Word(
                ("specs",),
                "spec files, or names of builds in the folder specs. If left out, every spec in it",
                number="any",
            ),
            Word(
                ("--format",),
                "text, JSON, annotations of a forge's workflow, or SARIF 2.1.0 (default %(default)s)",
                choices=("text", "json", "github", "sarif"),
                default="text",
            ),
            Word(("--strict",), "count warnings as errors", number="none"),
            Word(
                ("--as-of",),
                "say what upkeep is overdue on this date, as in 2026-11-30 (default today)",
                value="DATE",
                read=_day,
            ),
            _loudness("leave out the count and the standing", "show the line each problem is in"),
        ),
        ("gasdoc check", "gasdoc check specs/my-hut.md --verbose", "gasdoc check --strict --format github"),
    ),
    Command(
        "build",
        "build the site",
        (
            Word(("--site-dir",), "where the site goes. If left out, as the configuration says"),
            _CONFIG,
            _STRICT,
            _LOUDNESS,
        ),
        ("gasdoc build", "gasdoc build --strict --site-dir public"),
    ),
    Command(
        "pdf",
        "print builds to PDF: whole record, booklet for the inspector, sheets for test day and door, labels for the valves",
        (
            Word(("specs",), "spec files, or names of specs", value="spec", number="any"),
            Word(("--all",), "every build of the site", number="none"),
            Word(("--out",), "folder the files go to (default %(default)s)", default="pdf"),
            Word(("--paper",), "left out, Letter for builds in US units, else A4", choices=("letter", "a4")),
            _CONFIG,
            _LOUDNESS,
        ),
        ("gasdoc pdf specs/my-hut.md", "gasdoc pdf --all --out print --paper a4"),
    ),
    Command(
        "serve",
        "serve the site and rebuild it when a spec changes",
        (
            _CONFIG,
            _STRICT,
            Word(("--address",), "host:port (default %(default)s)", default="127.0.0.1:8000"),
            _LOUDNESS,
        ),
        ("gasdoc serve", "gasdoc serve --address 127.0.0.1:8080"),
    ),
    Command(
        "study",
        "print everything computed for one spec",
        (
            Word(("spec",), "the spec file"),
            Word(("--format",), "JSON, one documented unit a field", choices=("json",), default="json"),
        ),
        ("gasdoc study specs/my-hut.md > my-hut.json",),
    ),
    Command(
        "choose",
        "say which containers, regulator and tubing would do for a plan, and take a choice into its spec",
        (
            Word(("spec",), "the spec file, or the name of a build. What it leaves open is chosen"),
            Word(
                ("--take",),
                "show what changes in the spec with this choice, as in design=usual",
                value="PART=ID",
            ),
            Word(("--write",), "write that change into the spec. Its comments stay", number="none"),
            _TEXT_OR_JSON,
        ),
        (
            "gasdoc choose my-hut",
            "gasdoc choose my-hut --take design=usual",
            "gasdoc choose my-hut --take tubing=copper-l-one-size --write",
        ),
    ),
    Command(
        "capacity",
        "what a size of tubing carries",
        (
            Word(
                ("material",),
                "as in a spec. 'gasdoc catalog tubing' lists them. With --load, left out for all of them",
                number="maybe",
            ),
            Word(
                ("size",),
                "as in a spec: '1/2 in OD', 'EHD 18', '3/4 in', '15 x 1 mm'. Left out with --load",
                number="maybe",
            ),
            Word(("--load",), "ask for the least size that carries this, as in '60 kBtu/h'"),
            Word(("--type",), "type of inch copper: K or L"),
            Word(
                ("--path-length",),
                "from the final regulator to the farthest outlet, as in '32 ft'. Never the run's own length",
                needed=True,
            ),
            Word(
                ("--region",),
                "whose pressure, drop, method, materials and units hold, from 'gasdoc catalog regions'",
            ),
            Word(("--pressure",), "delivered pressure, gauge. If left out, the region's, else 11 inH2O"),
            Word(("--drop",), "pressure drop allowed. If left out, the region's, else 0.5 inH2O"),
            Word(("--calculated",), "calculate by Darcy-Weisbach, without code tables", number="none"),
            _TEXT_OR_JSON,
        ),
        (
            "gasdoc capacity copper '1/2 in OD' --type L --path-length '32 ft'",
            "gasdoc capacity csst 'EHD 18' --path-length '40 ft'",
            "gasdoc capacity steel --load '60 kBtu/h' --path-length '16 ft'",
            "gasdoc capacity --load '12 kW' --path-length '6 m' --region uk",
            "gasdoc capacity copper-metric '10 x 1 mm' --path-length '6 m' --pressure '30 mbar' --drop '1.5 mbar'",
        ),
    ),
    Command(
        "new",
        "start a spec, empty or from a previous build",
        (
            Word(("name",), "file name without ending, as in my-hut"),
            Word(("--from",), "the spec to start from: a name or a path", value="OTHER", name="origin"),
            Word(("--at",), "the revision of OTHER to start from. If left out, as it is now", value="REVISION"),
            Word(("--title",), "title of the build"),
            Word(("--region",), "whose rules apply, from 'gasdoc catalog regions'. Needed unless --from is given"),
            Word(("--units",), "units of the pages. If left out, the region's", choices=("us", "si", "anz")),
            Word(("--plan",), "a short plan, in which nothing is chosen yet", number="none"),
            Word(("--appliances",), "how many appliances the plan has. If left out, three", value="N"),
            _FOLDER,
        ),
        (
            "gasdoc new my-hut --region us-cabin --title 'My Hut'",
            "gasdoc new my-plan --region us-cabin --plan --appliances 2",
            "gasdoc new my-second-hut --from my-hut",
            "gasdoc new my-third-hut --from my-hut --at v1",
        ),
    ),
    Command(
        "compare",
        "put builds side by side in one table. Of two, or of two revisions of one, say also what differs",
        (
            Word(
                ("specs",),
                "each a path or a name in the folder, with @REVISION for what git has of it then. One alone at a "
                "revision stands beside itself as it is now. Units are those of the last",
                value="spec",
                number="any",
            ),
            _FOLDER,
            _TEXT_OR_JSON,
        ),
        (
            "gasdoc compare bakery-trailer my-trailer",
            "gasdoc compare hut-small hut-light hut-fixed",
            "gasdoc compare my-hut@HEAD",
            "gasdoc compare my-hut@v1 my-hut@v2",
        ),
    ),
    Command(
        "init",
        "lay out a new repository of builds",
        (
            Word(("folder",), "where (default: here). Files that are there already stay", default=".", number="maybe"),
            Word(
                ("--renew-lock",),
                "write requirements.txt again, as this gasdoc needs it, and nothing else",
                number="none",
            ),
        ),
        ("gasdoc init", "gasdoc init ~/builds", "gasdoc init --renew-lock"),
    ),
    Command(
        "schema",
        "print the JSON Schema of a spec's front matter, for editors",
        (),
        ("gasdoc schema > schema.json",),
    ),
    Command(
        "catalog",
        "list what a spec may name, and what the codes of findings mean",
        (
            Word(
                ("what",),
                "containers, coverage (which joints close where), findings, parts, regions, sources (of every figure), tubing or "
                "units",
                choices=("containers", "coverage", "findings", "parts", "regions", "sources", "tubing", "units"),
                value="what",
            ),
            Word(
                ("--format",),
                "default %(default)s. JSON is for coverage and sources",
                choices=("text", "json"),
                default="text",
            ),
        ),
        (
            "gasdoc catalog regions",
            "gasdoc catalog containers",
            "gasdoc catalog sources --format json",
            "gasdoc catalog coverage --format json",
        ),
    ),
    Command(
        "completion",
        "print what a shell needs to complete this command",
        (Word(("shell",), "which shell", choices=("bash", "zsh", "fish")),),
        ('eval "$(gasdoc completion bash)"', "gasdoc completion fish > ~/.config/fish/completions/gasdoc.fish"),
    ),
)


def parser(arguments: Sequence[str] = ()) -> argparse.ArgumentParser:
    """The parser of the command line; where `arguments` begin with a command, of that one only, because each takes time."""
    made = argparse.ArgumentParser(
        prog=PROGRAM,
        description="One text file per propane build becomes a site of install reports. It"
        " computes. It does not certify.",
        epilog="examples:\n  gasdoc new my-hut --region us-cabin\n  gasdoc check my-hut\n  gasdoc build\n\n"
        "exit codes:\n  0    done. Check, build and study found nothing at error level\n"
        "  1    a spec can be read, and something in the build is wrong\n"
        "  2    a spec, an option, a file or a program cannot be used\n"
        "  3    gasdoc itself fails\n  130  interrupted",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    made.add_argument("--version", action="version", version=f"{PROGRAM} {__version__}")
    commands = made.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for command in [command for command in COMMANDS if command.name in arguments[:1]] or COMMANDS:
        below = commands.add_parser(
            command.name,
            help=command.what,
            description=f"{command.what[0].upper()}{command.what[1:]}.",
            formatter_class=argparse.RawDescriptionHelpFormatter,
            epilog=command.examples_text,
        )
        for words in command.words:
            if isinstance(words, Word):
                _add(below.add_argument, words)
            else:
                choice = below.add_mutually_exclusive_group()
                for word in words:
                    _add(choice.add_argument, word)
    return made


def _add(add: Callable[..., object], word: Word) -> None:
    if word.number == "none":
        add(*word.spellings, action="store_true", help=word.what)
        return
    more = (
        {"dest": word.name or word.spellings[-1].lstrip("-").replace("-", "_"), "required": word.needed}
        if word.is_option
        else {}
    )
    add(
        *word.spellings,
        help=word.what,
        default=word.default,
        choices=word.choices or None,
        metavar=word.value,
        type=word.read or str,
        nargs={"maybe": "?", "any": "*"}.get(word.number),
        **more,
    )
