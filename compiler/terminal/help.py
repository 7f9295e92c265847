"""Help in plain sentences, made from the records of commands and options."""

from __future__ import annotations

from collections.abc import Iterable

from ...lang.folding import fold, in_columns
from .forms import Command, Option

ENDS = (
    ("0", "done"),
    ("1", "there are faults in the text (or warnings, with --strict)"),
    ("2", "the command was used wrongly"),
    ("3", "a file could not be read or written"),
    ("4", "a fault in posy itself; one line says where its details are"),
    ("130", "you stopped it"),
    ("141", "the program that read the output stopped reading"),
)
"""Exit codes and what they say."""


def overview(commands: Iterable[Command], width: int) -> list[str]:
    """What `posy help` says."""
    rows = [(command.line, f"{command.what}.") for command in commands]
    return [
        *fold("posy: jewelry written as text, made ready for casting", width),
        "", *fold("You write one of these:", width),
        "", *in_columns(rows, width, most=24),
        "", *fold("posy help COMMAND tells more of a command, posy words of what a piece is written "
                  "with, posy --version which posy this is.", width),
        "", *fold("Start with: posy start \"Reed bar\". To learn: posy start --lesson 1, and posy words "
                  "--open for a first pendant line by line, with pictures.", width),
    ]  # fmt: skip


def page(command: Command, width: int) -> list[str]:
    """What `posy help COMMAND` and `posy COMMAND --help` say."""
    names = command.names
    shown = names.value + (" …" if names.several else "")
    lines = [command.line, ""]
    lines += fold(f"{command.what}. {command.details}", width)
    lines += ["", "You name" if names.needed else "You may name"]
    lines += in_columns([(shown, names.says)], width)
    if command.options:
        lines += ["", "You may add"]
        for option in command.options:
            lines += _option(option, width)
    lines += ["", "It gives back", *fold(command.gives, width, "  ")]
    examples = [row for one in command.examples for row in fold(one, width, "  ", "    ")]
    lines += ["", "For example", *examples]
    lines += ["", *fold("It ends with a number, for programs that call it:", width)]
    return [*lines, *in_columns(list(ENDS), width)]


def _option(option: Option, width: int) -> list[str]:
    head = f"{option.name} {option.value}".rstrip()
    said = option.says
    if option.like:
        said += f" As in {option.name} {option.like}."
    if option.several:
        said += " May be given several times."
    if option.without:
        said += f" Left out: {option.without}."
    return [*fold(head, width, "  ", "    "), *fold(said, width, "      ")]
