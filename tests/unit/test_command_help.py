"""Help, and the records of the commands it is made from."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest

from posy.compiler import command as posy_command
from posy.compiler.commands.manual import COMMANDS
from posy.compiler.terminal.forms import read
from posy.compiler.terminal.help import overview, page
from posy.lang.folding import width_of


def test_help_names_every_command(posy) -> None:
    out = posy("help").out
    assert out == posy("--help").out == posy("-h").out
    assert all(f"posy {name} " in out for name in COMMANDS)
    assert posy("--version").out.startswith("posy ")


@pytest.mark.parametrize("name", COMMANDS)
def test_the_page_of_a_command(name: str, posy) -> None:
    """One page however it is asked for; every option with a sentence and what holds without it;
    none of the stock words of an option reader."""
    command = COMMANDS[name]
    out = posy("help", name).out
    assert out == posy(name, "--help").out == posy(name, "x", "-h").out
    assert all(head in out for head in ("You name" if command.names.needed else "You may name",
                                        "You may add", "It gives back", "For example", "130"))
    for option in command.options:
        assert f"  {option.name} {option.value}".rstrip() in out
        assert option.says.endswith(".") and option.says[0].isupper()
        assert option.without or option.several
        assert option.like or not option.value
    for stock in ("usage", "positional", "optional", "show this help", "arguments"):
        assert stock not in out
    for example in command.examples:
        assert " ".join(example.split()) in " ".join(out.split())


@pytest.mark.parametrize("width", (40, 60, 80, 120))
def test_help_fits_the_screen(width: int) -> None:
    told = [*overview(COMMANDS.values(), width)]
    told += [line for command in COMMANDS.values() for line in page(command, width)]
    assert max(map(width_of, told)) <= width


def test_an_option_means_the_same_everywhere() -> None:
    options = {}
    for command in COMMANDS.values():
        for option in command.options:
            if option.name not in ("--strict", "--pages", "--page", "--metal", "--apply"):
                assert options.setdefault(option.name, option) == option, option.name


@pytest.mark.parametrize("name", COMMANDS)
def test_every_example_can_be_read(name: str) -> None:
    for example in COMMANDS[name].examples:
        _, said, *words = shlex.split(example)
        assert said == name
        read(COMMANDS[name], words)


def test_the_readme_lists_the_commands() -> None:
    readme = Path(posy_command.__file__).parents[1] / "README.md"
    listed = "\n".join(f"- `{one.line}`: {one.what[0].lower()}{one.what[1:]}" for one in COMMANDS.values())
    assert listed in readme.read_text("utf-8")
