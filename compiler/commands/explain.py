"""`posy explain`: more about a fault code or a bench rule."""

from __future__ import annotations

import argparse

from . import shared

DETAILS = "Codes stand in brackets in every finding, as in fault[no-room]."


def options(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument("code", metavar="CODE", help="a code, as shown in brackets")


def run(arguments: argparse.Namespace) -> int:
    """Print what is known about the code."""
    raise shared.Misuse(f"no code {arguments.code!r}")
