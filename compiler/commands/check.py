"""`posy check`: find faults in the text and the plan, without making metal."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from ...lang.faults import Fault
from ..judging.messages import (
    finding_record,
    findings_text,
    tally,
    tinted,
    waiver_record,
    waivers_text,
    wants_colour,
)
from ..making.result import Built
from ..terminal import options as shared
from ..terminal import run as making

DETAILS = (
    "It takes a fraction of the time of a build. What only the finished metal can show (thin "
    "walls, loose pieces, stones that are not held) needs --measured, or posy build."
)
EXAMPLES = (
    "posy check ring.posy",
    "posy check *.posy --strict",
    "posy check ring.posy --mend --apply",
)


def options(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    shared.piece_options(parser, several=True)
    shared.metal_option(parser)
    parser.add_argument(
        "--measured",
        action="store_true",
        help="make the metal too, and check what only it can show (nothing is written)",
    )
    parser.add_argument(
        "--page",
        metavar="FILE",
        help="with --measured: list all that was found, as Markdown, in the lower part of FILE",
    )
    parser.add_argument("--strict", action="store_true", help="let warnings count as faults")
    parser.add_argument(
        "--mend",
        action="store_true",
        help="show what changes of the text would answer the findings, as a diff",
    )
    parser.add_argument(
        "--apply", action="store_true", help="with --mend: make the changes, then check again"
    )
    shared.common_options(parser)


def run(arguments: argparse.Namespace) -> int:
    """Check every piece; the exit code is that of the worst."""
    if arguments.apply and not arguments.mend:
        raise shared.Misuse("--apply goes with --mend")
    if arguments.page and not arguments.measured:
        raise shared.Misuse("--page goes with --measured")
    settings = shared.settings_of(arguments.set)
    metal = making.metal_name(arguments.metal)
    codes, records, seen = [], [], []
    for path in arguments.pieces:
        built = _looked_at(path, arguments, settings, metal)
        diff = ""
        if arguments.mend:
            built, diff = _mended(built, arguments, settings, metal)
        seen.append(built)
        codes.append(making.exit_code(built.faults, strict=arguments.strict))
        if arguments.format == "json":
            findings = [finding_record(fault) for fault in built.faults]
            waivers = [waiver_record(waiver) for waiver in built.waivers]
            record = {"path": built.path, "findings": findings, "waivers": waivers}
            records.append({**record, "mend": diff} if arguments.mend else record)
        else:
            sys.stdout.write(diff)
            _show(built, arguments)
    if arguments.format == "json":
        report = {"posy": 1, "command": "check", "pieces": records}
        print(json.dumps(report, indent=2, ensure_ascii=False))
    if arguments.page:
        trouble = _write_page(Path(arguments.page), seen)
        sys.stderr.write(findings_text(trouble, {}, "short", False))
        codes.append(making.exit_code(trouble))
    return making.worst(codes)


def _looked_at(
    path: str, arguments: argparse.Namespace, settings: Any, metal: str | None
) -> Built:
    """The piece checked: its plan, and with --measured its metal."""
    from ..making.pipeline import build, check

    look = build if arguments.measured else check
    return look(path, settings=settings, metal=metal)


def _write_page(page: Path, pieces: Sequence[Built]) -> Sequence[Fault]:
    """Write the page of what was found; what is written by hand in it stays."""
    from ..files.atomic import write_set
    from ..pages.gallery import page_of

    try:
        held = page.read_text("utf-8")
    except FileNotFoundError:
        held = ""
    except (OSError, UnicodeError) as trouble:
        return [Fault("file-not-read", f"{page} could not be read: {trouble}")]
    _, faults = write_set({page: page_of(held, pieces).encode()})
    return faults


def _show(built: Built, arguments: argparse.Namespace) -> None:
    """Findings are what was asked for, so they go to stdout."""
    colour = wants_colour(sys.stdout, arguments.no_colour)
    text = findings_text(
        built.faults, built.texts, arguments.format, colour, arguments.notes
    )
    sys.stdout.write(text)
    sys.stdout.write(waivers_text(built.waivers, built.faults))
    if arguments.format == "human":
        print(f"{tinted(built.path, 'bold', colour)}: {tally(built.faults)}")


def _mended(
    built: Built, arguments: argparse.Namespace, settings: Any, metal: str | None
) -> tuple[Built, str]:
    """The piece as it stands after mending (with --apply), and the diff."""
    from ..files.atomic import write_set
    from ..judging.mend import diff, mended

    own = {path: text for path, text in built.texts.items() if path in built.files_read}
    fresh = mended(built.faults, own).texts
    shown = diff(own, fresh)
    if not arguments.apply or not fresh:
        return built, shown
    _, trouble = write_set({Path(path): text.encode() for path, text in fresh.items()})
    if trouble:
        return replace(built, faults=(*built.faults, *trouble)), shown
    return _looked_at(built.path, arguments, settings, metal), shown
