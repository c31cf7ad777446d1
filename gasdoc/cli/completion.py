"""Completion of the command line in a shell, made from the parser, so that it cannot know other options than it does.

Own, because it is small: packages that do this would be a dependency of every user for three short texts.
"""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Iterator
from dataclasses import dataclass

SHELLS = ("bash", "zsh", "fish")


@dataclass(frozen=True, slots=True)
class _Word:
    """An option (its spellings) or an argument (none), what it does, and the values it may have."""

    spellings: tuple[str, ...]
    what: str
    choices: tuple[str, ...]
    takes_value: bool


def completion(parser: argparse.ArgumentParser, shell: str) -> str:
    """The text to be read by a shell, one of SHELLS."""
    commands = {name: (help_, tuple(_words(sub))) for name, help_, sub in _commands(parser)}
    if shell == "fish":
        return _fish(parser.prog, commands)
    text = _bash(parser.prog, commands)
    return f"#compdef {parser.prog}\nautoload -U +X bashcompinit && bashcompinit\n{text}" if shell == "zsh" else text


def _commands(parser: argparse.ArgumentParser) -> Iterator[tuple[str, str, argparse.ArgumentParser]]:
    for action in parser._actions:  # argparse has no public way to ask
        if isinstance(action, argparse._SubParsersAction):
            helps = {choice.dest: choice.help or "" for choice in action._choices_actions}
            yield from ((name, helps.get(name, ""), sub) for name, sub in action.choices.items())


def _words(parser: argparse.ArgumentParser) -> Iterator[_Word]:
    for action in parser._actions:
        what = (action.help or "") % {"default": action.default, "prog": parser.prog}
        yield _Word(tuple(action.option_strings), what, tuple(map(str, action.choices or ())), action.nargs != 0)


def _bash(prog: str, commands: dict[str, tuple[str, tuple[_Word, ...]]]) -> str:
    lines = [
        f"_{prog}() {{",
        '  local cur="${COMP_WORDS[COMP_CWORD]}" before="${COMP_WORDS[COMP_CWORD-1]}" words=""',
        "  COMPREPLY=()",
        '  if [ "$COMP_CWORD" -eq 1 ]; then',
        f'    COMPREPLY=($(compgen -W "{" ".join(commands)} --help --version" -- "$cur")); return',
        "  fi",
        '  case "${COMP_WORDS[1]} $before" in',
    ]
    for name, (_, words) in commands.items():
        for word in words:
            if word.spellings and word.choices:
                tests = "|".join(f'"{name} {spelling}"' for spelling in word.spellings)
                lines.append(f'    {tests}) COMPREPLY=($(compgen -W "{" ".join(word.choices)}" -- "$cur")); return;;')
    lines += ["  esac", '  case "${COMP_WORDS[1]}" in']
    for name, (_, words) in commands.items():
        options = " ".join(spelling for word in words for spelling in word.spellings)
        values = " ".join(choice for word in words if not word.spellings for choice in word.choices)
        lines.append(f'    {name}) if [[ "$cur" == -* ]]; then words="{options}"; else words="{values}"; fi;;')
    lines += [
        "  esac",
        '  if [ -n "$words" ]; then COMPREPLY=($(compgen -W "$words" -- "$cur")); fi',
        "}",
        f"complete -o default -F _{prog} {prog}",
    ]
    return "\n".join(lines) + "\n"


def _fish(prog: str, commands: dict[str, tuple[str, tuple[_Word, ...]]]) -> str:
    lines = []
    for name, (what, _) in commands.items():
        lines.append(f"complete -c {prog} -n __fish_use_subcommand -f -a {name} -d {shlex.quote(what)}")
    for name, (_, words) in commands.items():
        for word in words:
            line = f"complete -c {prog} -n '__fish_seen_subcommand_from {name}'"
            for spelling in word.spellings:
                line += f" -l {spelling[2:]}" if spelling.startswith("--") else f" -s {spelling[1:]}"
            if word.choices:
                line += f" -x -a {shlex.quote(' '.join(word.choices))}"
            elif word.spellings and word.takes_value:
                line += " -r"
            if word.spellings or word.choices:
                lines.append(f"{line} -d {shlex.quote(word.what)}")
    return "\n".join(lines) + "\n"
