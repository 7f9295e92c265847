"""Sheets as PDF and drawings as PNG, printed by a browser where one is at hand.

No network: the pages hold all they show, and the browser is told so."""

from __future__ import annotations

import math
import re
import tempfile
from collections.abc import Collection, Mapping
from pathlib import Path

from ..files.browser import browser, made

DOTS = 300
_INCH = 25.4
_DENSE = f"--force-device-scale-factor={DOTS / 96}"
_ALONE = (
    b"<!doctype html><meta charset=utf-8><style>@page{size:%smm %smm;margin:0}body{margin:0}"
    b"svg{display:block}</style>%s"
)
NO_BROWSER = "no PDF: no browser was found to print it (chromium will do); print the HTML from your own"


def printed(pages: Mapping[str, bytes], program: str) -> dict[str, bytes]:
    """PDF of each page of HTML by the same name; one that could not be printed is left out."""
    found: dict[str, bytes] = {}
    with tempfile.TemporaryDirectory(prefix="posy-") as folder:
        for number, (name, page) in enumerate(pages.items()):
            source, target = Path(folder, f"{number}.html"), Path(folder, f"{number}.pdf")
            source.write_bytes(page)
            flags = ("--disable-gpu", f"--print-to-pdf={target}", "--no-pdf-header-footer")
            if (data := made(program, folder, target, *flags, source.as_uri())) is not None:
                found[name] = steady(data)
    return found


def steady(pdf: bytes) -> bytes:
    """A browser's PDF without the moment it was printed at, so that the same sheet is the same bytes."""
    return re.sub(rb"(/(?:CreationDate|ModDate) \(D:)(\d{14})", rb"\g<1>20000101000000", pdf)


def drawn(svgs: Mapping[str, bytes], kinds: Collection[str], program: str) -> dict[str, bytes]:
    """Drawings of ours, by the name of their SVG, as PDF and PNG (DOTS to an inch) at their true size."""
    found: dict[str, bytes] = {}
    with tempfile.TemporaryDirectory(prefix="posy-") as folder:
        for number, (name, svg) in enumerate(svgs.items()):
            size = re.search(rb'width="([\d.]+)mm" height="([\d.]+)mm"', svg)
            assert size is not None
            wide, tall = float(size[1]), float(size[2])
            source = Path(folder, f"{number}.html")
            source.write_bytes(_ALONE % (b"%.2f" % wide, b"%.2f" % tall, svg))
            shot = f"--window-size={math.ceil(wide / _INCH * 96)},{math.ceil(tall / _INCH * 96)}"
            ways = {
                "pdf": ("--print-to-pdf={}", "--no-pdf-header-footer"),
                "png": ("--screenshot={}", "--hide-scrollbars", shot, _DENSE),
            }
            for kind in kinds:
                target = Path(folder, f"{number}.{kind}")
                flags = ("--disable-gpu", *(flag.format(target) for flag in ways[kind]))
                if (data := made(program, folder, target, *flags, source.as_uri())) is not None:
                    found[f"{name.removesuffix('.svg')}.{kind}"] = steady(data) if kind == "pdf" else data
    return found


def with_pdf(files: Mapping[str, bytes]) -> tuple[dict[str, bytes], str]:
    """``files`` with a PDF beside every HTML, and what to say where there is no browser for that."""
    pages = {name: data for name, data in files.items() if name.endswith(".html")}
    program = browser()
    if program is None or not pages:
        return dict(files), NO_BROWSER if pages else ""
    done = printed(pages, program)
    lost = [name for name in pages if name not in done]
    return (
        {**files, **{f"{name.removesuffix('.html')}.pdf": data for name, data in done.items()}},
        f"no PDF of {', '.join(lost)}: {Path(program).name} did not print it" if lost else "",
    )
