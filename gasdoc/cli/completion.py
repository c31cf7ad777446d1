"""Completion of the command line in a shell, made from its table, so that it cannot know other options than it does.

Own, because it is small: packages that do this would be a dependency of every user for three short texts.
"""

from __future__ import annotations

import argparse
import shlex

from gasdoc.cli.output import FINE, print_file
from gasdoc.commandline import COMMANDS, HELP, PROGRAM, Command, Word


def completion(options: argparse.Namespace) -> int:
    """Print what a shell needs to complete the command."""
    print_file(shell_text(options.shell), end="")
    return FINE


def shell_text(shell: str) -> str:
    """The text to be read by a shell, one of the words that the command takes."""
    if shell == "fish":
        return _fish()
    return f"#compdef {PROGRAM}\nautoload -U +X bashcompinit && bashcompinit\n{_bash()}" if shell == "zsh" else _bash()


def _words(command: Command) -> tuple[Word, ...]:
    """The words of a command, with the option that all have."""
    return HELP, *command.every


def _bash() -> str:
    lines = [
        f"_{PROGRAM}() {{",
        '  local cur="${COMP_WORDS[COMP_CWORD]}" before="${COMP_WORDS[COMP_CWORD-1]}" words=""',
        "  COMPREPLY=()",
        '  if [ "$COMP_CWORD" -eq 1 ]; then',
        f'    COMPREPLY=($(compgen -W "{" ".join(command.name for command in COMMANDS)} --help --version" -- "$cur")); return',
        "  fi",
        '  case "${COMP_WORDS[1]} $before" in',
    ]
    for command in COMMANDS:
        for word in _words(command):
            if word.is_option and word.choices:
                tests = "|".join(f'"{command.name} {spelling}"' for spelling in word.spellings)
                lines.append(f'    {tests}) COMPREPLY=($(compgen -W "{" ".join(word.choices)}" -- "$cur")); return;;')
    lines += ["  esac", '  case "${COMP_WORDS[1]}" in']
    for command in COMMANDS:
        options = " ".join(spelling for word in _words(command) if word.is_option for spelling in word.spellings)
        values = " ".join(choice for word in command.every if not word.is_option for choice in word.choices)
        lines.append(f'    {command.name}) if [[ "$cur" == -* ]]; then words="{options}"; else words="{values}"; fi;;')
    lines += [
        "  esac",
        '  if [ -n "$words" ]; then COMPREPLY=($(compgen -W "$words" -- "$cur")); fi',
        "}",
        f"complete -o default -F _{PROGRAM} {PROGRAM}",
    ]
    return "\n".join(lines) + "\n"


def _fish() -> str:
    lines = [
        f"complete -c {PROGRAM} -n __fish_use_subcommand -f -a {command.name} -d {shlex.quote(command.what)}"
        for command in COMMANDS
    ]
    for command in COMMANDS:
        for word in _words(command):
            line = f"complete -c {PROGRAM} -n '__fish_seen_subcommand_from {command.name}'"
            for spelling in word.spellings if word.is_option else ():
                line += f" -l {spelling[2:]}" if spelling.startswith("--") else f" -s {spelling[1:]}"
            if word.choices:
                line += f" -x -a {shlex.quote(' '.join(word.choices))}"
            elif word.is_option and word.number != "none":
                line += " -r"
            if word.is_option or word.choices:
                lines.append(f"{line} -d {shlex.quote(word.explained)}")
    return "\n".join(lines) + "\n"
