"""`posy editor`: a session with a real client over the terminal's streams, and each answer by itself."""

from __future__ import annotations

import asyncio
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from posy.compiler.command import main
from posy.compiler.editor import completion, hover
from posy.compiler.editor.look import Look
from posy.compiler.editor.mends import mends
from posy.compiler.editor.place import place_at
from posy.compiler.editor.scopes import Scopes
from posy.compiler.making.pipeline import all_words
from posy.lang.parse import parse

lsp = pytest.importorskip("lsprotocol.types")
LanguageClient = pytest.importorskip("pygls.lsp.client").LanguageClient

PIECE = """piece "Ferry bar"
  metal silver-925

measure wide = 2.2 mm, from 2 mm to 3 mm, help "the stones"
stone trio: round wide, gem garnet, at (0, 0), right wide * 0
bar frame: size 10 x (wide + 3 mm) x 2.4 mm, under trio
seat: for trio, in frame
prong grips: for trio, wire 0.8 mm, foot 0.9 mm
"""


def at(text, mark="|"):
    """A text without its mark, and where that stood."""
    offset = text.index(mark)
    return text.replace(mark, ""), offset


def offered(text):
    text, offset = at(text)
    return {one.text: one for one in completion.offers_at(Look("a.posy", text), offset).offers}


# --- completion


@pytest.mark.parametrize(("text", "wanted", "not_wanted"), [
    ("|", {"bar", "prong", "measure", "piece"}, {"takes", "across"}),
    ("ba|", {"bar"}, {"across"}),
    ("word leaf\n  |", {"takes", "serves", "bar"}, {"across"}),
    ("workpiece a\n  |", {"bar", "each"}, {"across"}),
    ("bar f: |", {"size", "corner", "metal", "up"}, {"bar", "gem"}),
    ("bar f: size 1 x 1 x 1 mm, |", {"corner", "up"}, {"size", "bar"}),
    ("bar f: size 1 x 1 x 1 mm, co|", {"corner"}, {"size"}),
    ("bar f\n  size 1 x 1 x 1 mm\n  |", {"corner", "up"}, {"size", "bar"}),
    ("bar f: size 1 x 1 x 1 mm,\n  |", {"corner"}, {"size", "bar"}),
    ("stone s: round 1 mm, gem |", {"garnet", "diamond"}, {"bar", "gem"}),
    ("stone s: round 1 mm, gem ga|", {"garnet"}, {"bar"}),
    ("piece \"A\"\n  |", {"metal", "note"}, {"bar"}),
    ("piece \"A\"\n  metal |", {"silver-925", "gold-750-yellow"}, {"bar"}),
    ("measure a = 1 mm\nball: across |", {"a", "max"}, {"bar", "across"}),
    ("bar f: size 1 x 1 x 1 mm\nball: across 1 mm, at |", {"f", "ends of f", "face of f"}, {"bar", "max"}),
    ("bar f: size 1 x 1 x 1 mm\nball: across 1 mm, at ends of |", {"f"}, {"bar", "max"}),
    ("stone s: round 1 mm, gem garnet\nprong: for |", {"s"}, {"face of s", "max"}),
    ("measure a = |", {"max"}, {"bar"}),
    ("each k from 1 to 2\n  ball: across |", {"k"}, {"bar"}),
    ("each k from 1 to 2\n  ball: across 1 mm\nball: across |", {"max"}, {"k"}),
    ("word w\n  takes a: |", {"length", "choice"}, {"bar"}),
    ("waive |", {"thin-wall", "heavy-piece"}, {"bar"}),
    ("word w\n  serves as |", {"setting"}, {"bar"}),
    ("word leaf\n  takes long: length\n  ball: across long\nleaf one: |", {"long"}, {"bar"}),
    ("word leaf\n  ball: across 1 mm\nle|", {"leaf"}, set()),
    ("piece \"bar: |", set(), {"size"}),
    ("bar f: size 1 x |", {"max"}, {"bar"}),
    ("# ba|", set(), {"bar"}),
])  # fmt: skip
def test_what_may_be_written(text, wanted, not_wanted):
    found = offered(text)
    assert wanted <= set(found), wanted - set(found)
    assert not (not_wanted & set(found))


def test_every_word_and_clause_is_offered_where_it_may_stand():
    """From the same records as the checker: nothing it takes is missing, nothing it refuses is there."""
    assert set(all_words()) <= set(offered("|"))
    for name in ("bar", "prong", "band", "basket"):
        word = all_words()[name]
        found = set(offered(f"{name} one: |"))
        assert {take.name for take in word.takes} <= found


def test_a_place_is_told_from_what_stands_before_it():
    text, offset = at('bar f: size 1 x 1 x 1 mm,  # wide, "so"\n  corner 1 mm, up 2|')
    place = place_at(text, offset)
    assert (place.word, place.key, place.given) == ("bar", "up", ("size", "corner"))
    assert place.kind == "nothing" or place.typed == ""


# --- names


def test_names_have_the_sense_they_have_in_the_language():
    text = """measure a = 1 mm
word w
  takes a: length, default 2 mm
  ball: across a
each a from 1 to 2
  ball: across a * 1 mm
ball: across a
w: a a
"""
    scopes = Scopes(parse(text, "a.posy")[0])
    uses = {(one.kind, one.name.span.line): [use.span.line for use in one.uses] for one in scopes.bindings}
    assert uses["measure", 1] == [7, 8]
    assert uses["clause of a word", 3] == [4] and uses["round of an each", 5] == [6]
    assert uses["word", 2] == [8]


# --- hover


def told(text):
    text, offset = at(text)
    found = hover.told_at(Look("a.posy", text), offset)
    return "" if found is None else found.text


def test_what_is_told_of_words_clauses_names_and_figures():
    word = told(PIECE.replace("prong grips", "pro|ng grips"))
    assert all_words()["prong"].help in word
    picture = re.search(r"!\[prong\]\(file://(.*?)\)", word)
    assert Path(picture[1]).read_bytes().startswith(b"<svg")
    assert "comes to 10 x 5.2 x 2.4 mm" in told(PIECE.replace("size 10", "si|ze 10"))
    assert "comes to 10 x 5.2 x 2.4 mm" in told(PIECE.replace("10 x", "1|0 x"))
    assert "**wide** = 2.2 mm — the stones" in told(PIECE.replace("(wide", "(wi|de"))
    assert "**trio** — stone" in told(PIECE.replace("under trio", "under tr|io"))
    several = "each k from 1 to 9\n  ball: ac|ross k * 1 mm, up k * 4 mm\n"
    assert "comes to 1 mm, 2 mm, 3 mm, 4 mm, 5 mm, 6 mm and 3 more" in told(several)
    assert "**max**" in told("ball: across ma|x(1 mm, 2 mm)\n")
    assert "**thin-wall**" in told('waive thin|-wall because "x"\n')
    assert told("# no|thing\n") == ""


# --- mends


def test_a_mend_is_offered_only_when_it_cures():
    text = PIECE.replace("2.4 mm, under", "2.4 millimeters, under")
    look = Look("a.posy", text)
    found = list(mends(look, look.checked.faults, 0, len(text)))
    assert [text[: one.start] + one.text + text[one.end :] for one in found] == [PIECE]
    for slip in ("claws grips", "prongs grips"):
        text = PIECE.replace("prong grips", slip)
        look = Look("a.posy", text)
        one = next(mends(look, look.checked.faults, 0, len(text)))
        assert text[: one.start] + one.text + text[one.end :] == PIECE
    assert list(mends(Look("a.posy", PIECE), Look("a.posy", PIECE).checked.faults, 0, 0)) == []


# --- the server


async def _session(folder):
    """Open, hear remarks, complete, hover, go, rename, mend, tidy, weigh, close."""
    client = LanguageClient("test", "1")
    heard: asyncio.Queue = asyncio.Queue()

    @client.feature(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
    def remarks(params):
        heard.put_nowait(params)

    weighed = asyncio.Event()

    @client.feature(lsp.WORKSPACE_INLAY_HINT_REFRESH)
    def refresh(params):
        weighed.set()

    async def remarks_until(test):
        while True:
            told = await asyncio.wait_for(heard.get(), 60)
            if test([one.code for one in told.diagnostics]):
                return told.diagnostics

    await client.start_io(sys.executable, "-m", "posy.compiler", "editor")
    begun = await client.initialize_async(
        lsp.InitializeParams(lsp.ClientCapabilities(), root_uri=folder.as_uri())
    )
    assert begun.server_info.name == "posy"
    client.initialized(lsp.InitializedParams())
    uri = (folder / "bar.posy").as_uri()
    here = lsp.TextDocumentIdentifier(uri)
    # Letters of two UTF-16 units before the slip: places are told in the editor's own count.
    mended = PIECE.replace('from 2 mm to 3 mm, help "the stones"', 'help "the 💍💍", from 2 mm to 3 mm')
    broken = mended.replace("3 mm\nstone", "3 millimeters\nstone")
    client.text_document_did_open(lsp.DidOpenTextDocumentParams(lsp.TextDocumentItem(uri, "posy", 1, broken)))
    slip = (await remarks_until(lambda codes: "unknown-unit" in codes))[0]
    assert slip.range.start.line == 3 and slip.severity == lsp.DiagnosticSeverity.Error
    line = broken.splitlines()[3].encode("utf-16-le")
    found = line[2 * slip.range.start.character : 2 * slip.range.end.character].decode("utf-16-le")
    assert found == "millimeters"
    actions = await client.text_document_code_action_async(
        lsp.CodeActionParams(here, slip.range, lsp.CodeActionContext([slip]))
    )
    edit = actions[0].edit.changes[uri][0]
    assert edit.range.start.line == 3
    client.text_document_did_change(lsp.DidChangeTextDocumentParams(
        lsp.VersionedTextDocumentIdentifier(2, uri),
        [lsp.TextDocumentContentChangePartial(range=edit.range, text=edit.new_text)],
    ))  # fmt: skip
    await remarks_until(lambda codes: "unknown-unit" not in codes)
    await asyncio.wait_for(weighed.wait(), 60)
    whole = lsp.Range(lsp.Position(0, 0), lsp.Position(9, 0))
    hint = (await client.text_document_inlay_hint_async(lsp.InlayHintParams(here, whole)))[0]
    assert re.fullmatch(r"\d+\.\d\d g of silver-925, 1 stone \d\.\d+ ct", hint.label)
    assert hint.position.line == 0

    def spot(row, mark):
        return lsp.Position(row, PIECE.splitlines()[row].index(mark))

    found = await client.text_document_completion_async(lsp.CompletionParams(here, spot(7, "wire")))
    assert {"bite", "rise", "splay"} & {one.label for one in found.items}
    told = await client.text_document_hover_async(lsp.HoverParams(here, spot(5, "size")))
    assert "comes to 10 x 5.2 x 2.4 mm" in told.contents.value
    given = await client.text_document_definition_async(lsp.DefinitionParams(here, spot(6, "trio")))
    assert given.range.start == spot(4, "trio")
    changed = await client.text_document_rename_async(lsp.RenameParams(here, spot(3, "wide"), "broad"))
    assert len(changed.changes[uri]) == 4
    client.text_document_did_change(lsp.DidChangeTextDocumentParams(
        lsp.VersionedTextDocumentIdentifier(3, uri),
        [lsp.TextDocumentContentChangeWholeDocument(PIECE.replace(": ", "  :  "))],
    ))  # fmt: skip
    tidied = await client.text_document_formatting_async(
        lsp.DocumentFormattingParams(here, lsp.FormattingOptions(2, True))
    )
    assert tidied[0].new_text == PIECE
    saving = await client.text_document_will_save_wait_until_async(
        lsp.WillSaveTextDocumentParams(here, lsp.TextDocumentSaveReason.Manual)
    )
    assert saving[0].new_text == PIECE
    hint = (await client.text_document_inlay_hint_async(lsp.InlayHintParams(here, whole)))[0]
    assert "before the last change" in hint.label
    client.text_document_did_close(lsp.DidCloseTextDocumentParams(here))
    await client.shutdown_async(None)
    client.exit(None)
    await asyncio.wait_for(client._server.wait(), 20)
    assert client._server.returncode == 0


def test_a_session_with_a_client(tmp_path):
    asyncio.run(_session(tmp_path))


def test_without_pygls_it_says_what_is_missing(tmp_path):
    code = (
        "import sys; sys.modules['pygls'] = None\n"
        "from posy.compiler.command import main\nsys.exit(main(['editor']))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, input="")
    assert done.returncode == 2 and "pip install 'posy-lang[editor]'" in done.stderr
    assert "Traceback" not in done.stderr


# --- colours


def test_colours_are_made_from_the_word_records(tmp_path, capsys):
    assert main(["editor", str(tmp_path)]) == 0
    assert len(capsys.readouterr().out.splitlines()) == 4
    grammar = json.loads((tmp_path / "posy.tmLanguage.json").read_text("utf-8"))
    rules = {one["name"]: re.compile(one["match"], re.M) for one in grammar["patterns"][:8]}
    text = "prong grips: for trio, wire 0.8 mm  # so\n"
    assert rules["entity.name.function.posy"].match(text)[0] == "prong"
    assert rules["constant.numeric.posy"].search(text)[0] == "0.8 mm"
    assert rules["comment.line.number-sign.posy"].search(text)[0] == "# so"
    words = rules["entity.name.function.posy"]
    assert all(words.fullmatch(name) for name in all_words() if name not in ("workpiece", "casting"))
    assert (tmp_path / "syntax" / "posy.vim").read_text("utf-8").count("syntax match") == 10
