"""Time the language server's answers on the 200-line piece of the start bench, over its streams.

    python tests/bench/editor.py [--repeats 20]

Prints a Markdown table of milliseconds from the client's side, median and worst, and of the processor's
time the server and its helpers took for one answer (mean; on a busy machine only this says much): remarks from the moment a
keystroke is sent to the moment its remarks are there (of a slip that cannot be read, and of one in the plan),
completion of words, clauses and places, hover. Nothing is asserted: a machine's pace is no property of
the program."""

from __future__ import annotations

import argparse
import asyncio
import os
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

from lsprotocol import types as lsp
from pygls.lsp.client import LanguageClient

sys.path.insert(0, str(Path(__file__).parent))
import startup

Times = dict[str, list[tuple[float, float]]]
TICK = os.sysconf("SC_CLK_TCK")


def used(server: int) -> float:
    """Seconds of processor time that the server and its children have had."""
    total = 0
    for place in Path("/proc").glob("[0-9]*/stat"):
        try:
            name, _, rest = place.read_text().rpartition(")")
        except OSError:
            continue
        fields = rest.split()
        if server in (int(name.split()[0]), int(fields[1])):
            total += int(fields[11]) + int(fields[12])
    return total / TICK


async def quiet(server: int, at_least: float = 0.0) -> None:
    """Wait until the server rests: it has had no processor time for a while."""
    await asyncio.sleep(at_least)
    before = -1.0
    while before != (before := used(server)):
        await asyncio.sleep(0.5)


class Watch:
    """Milliseconds, by the clock and of the processor, since it was made."""

    def __init__(self, server: int) -> None:
        self._server, self._begun, self._used = server, perf_counter(), used(server)

    def read(self) -> tuple[float, float]:
        """Both, now."""
        return (perf_counter() - self._begun) * 1e3, (used(self._server) - self._used) * 1e3


async def measured(text: str, folder: Path, repeats: int) -> Times:
    """Milliseconds of each kind of answer."""
    client = LanguageClient("bench", "1")
    heard: asyncio.Queue[Any] = asyncio.Queue()
    client.feature(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)(lambda told: heard.put_nowait(told))
    client.feature(lsp.WORKSPACE_INLAY_HINT_REFRESH)(lambda told: None)
    await client.start_io(sys.executable, "-m", "posy.compiler", "editor")
    await client.initialize_async(lsp.InitializeParams(lsp.ClientCapabilities(), root_uri=folder.as_uri()))
    client.initialized(lsp.InitializedParams())
    uri = (folder / "chain.posy").as_uri()
    here = lsp.TextDocumentIdentifier(uri)
    client.text_document_did_open(lsp.DidOpenTextDocumentParams(lsp.TextDocumentItem(uri, "posy", 1, text)))
    await asyncio.wait_for(heard.get(), 60)
    await quiet(client._server.pid, 3.0)  # the first make is over
    rows = text.splitlines()
    frame = next(k for k, row in enumerate(rows) if row.lstrip().startswith("bar frame"))
    spots = {
        "completion of words": lsp.Position(len(rows), 0),
        "completion of clauses": lsp.Position(frame, rows[frame].index("corner")),
        "completion of places": lsp.Position(frame, len(rows[frame])),
    }
    times: Times = {}
    version = 1

    def changed(line: str) -> lsp.DidChangeTextDocumentParams:
        """The text with one more line, as an editor tells it."""
        whole = lsp.TextDocumentContentChangeWholeDocument(text + line)
        return lsp.DidChangeTextDocumentParams(lsp.VersionedTextDocumentIdentifier(version, uri), [whole])

    for number in range(repeats):
        for name, line in (
            ("remarks, a slip in the text", f"bar odd size {number}\n"),
            ("remarks, a slip in the plan", f"ball: across {number + 1} mm, number 3\n"),
            ("remarks, nothing wrong", f"# {number}\n"),
        ):
            version += 1
            watch = Watch(client._server.pid)
            client.text_document_did_change(changed(line))
            while (await asyncio.wait_for(heard.get(), 60)).version != version:
                pass
            times.setdefault(name, []).append(watch.read())
            await asyncio.sleep(1.2)
        for name, spot in spots.items():  # asked in the same breath as the keystroke is told
            version += 1
            watch = Watch(client._server.pid)
            client.text_document_did_change(changed(f"# {name} {number}\n"))
            await client.text_document_completion_async(lsp.CompletionParams(here, spot))
            times.setdefault(name, []).append(watch.read())
            await asyncio.sleep(1.2)
        watch = Watch(client._server.pid)
        await client.text_document_hover_async(lsp.HoverParams(here, lsp.Position(frame, 4)))
        times.setdefault("hover over a word", []).append(watch.read())
    await client.shutdown_async(None)
    client.exit(None)
    return times


def main() -> None:
    """Measure and print."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--repeats", type=int, default=20)
    repeats = options.parse_args().repeats
    with tempfile.TemporaryDirectory() as folder:
        times = asyncio.run(measured(startup.text(), Path(folder), repeats))
    print("| answer | median ms | worst ms | processor ms |\n|---|---|---|---|")
    for name, found in times.items():
        clock, processor = zip(*found, strict=True)
        print(f"| {name} | {median(clock):.0f} | {max(clock):.0f} | {sum(processor) / len(processor):.0f} |")


if __name__ == "__main__":
    main()
