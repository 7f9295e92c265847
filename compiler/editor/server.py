"""The language server: what an editor asks, put to the other modules of this room, by pygls."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from importlib.metadata import version
from typing import Any

from lsprotocol import types as lsp
from pygls.lsp.server import LanguageServer
from pygls.uris import from_fs_path
from pygls.workspace import TextDocument

from ...lang.faults import Fault, Level
from ...lang.loader import Over
from ..judging.remark import is_waived
from ..making.tidy import text_tidied
from ..terminal.bugs import bug_note
from . import completion, hover, names
from .beside import Beside, checked, made
from .look import Look, look
from .mends import mends
from .weight import Weighed, line_of

PAUSE = 0.01  # s between a keystroke and the look at it: several at once are one
SETTLED = 0.6  # s without a keystroke after which the piece is made
_LEVELS = {
    Level.FAULT: lsp.DiagnosticSeverity.Error, Level.WARNING: lsp.DiagnosticSeverity.Warning,
    Level.HINT: lsp.DiagnosticSeverity.Information,
}  # fmt: skip
_KINDS = {
    completion.WORD: lsp.CompletionItemKind.Function, completion.CLAUSE: lsp.CompletionItemKind.Property,
    completion.CHOICE: lsp.CompletionItemKind.EnumMember, completion.NAME: lsp.CompletionItemKind.Variable,
    completion.ASKED: lsp.CompletionItemKind.Field, completion.FILE: lsp.CompletionItemKind.File,
}  # fmt: skip


class Desk(LanguageServer):
    """The server, with what it knows of each open text: its remarks, and what came of its last make."""

    def __init__(self) -> None:
        sync = lsp.TextDocumentSyncKind.Incremental
        super().__init__("posy", version("posy-lang"), text_document_sync_kind=sync)
        self.checker = Beside(checked)
        self.maker = Beside(made)
        self.remarks: dict[str, Sequence[Fault]] = {}
        self.weighed: dict[str, Weighed] = {}
        self.turn: dict[str, int] = {}
        self.read: dict[str, Look] = {}  # the newest text whose names are known
        self.tasks: set[asyncio.Task[None]] = set()
        self.tidy_on_save = True
        self.over = False  # the talk: nothing more may be said

    def report_server_error(self, error: Exception, source: Any) -> None:
        """A bug of ours: told in a line, with the file that says more."""
        said = lsp.ShowMessageParams(lsp.MessageType.Error, f"posy: {bug_note(error)}")
        self.window_show_message(said)

    def close(self) -> None:
        """End the processes beside this one; the talk is over."""
        self.over = True
        self.checker.close()
        self.maker.close()

    def text(self, uri: str) -> TextDocument:
        """An open text."""
        return self.workspace.get_text_document(uri)

    def look(self, uri: str) -> Look:
        """What is known of an open text, with the other open ones as they stand."""
        here = self.text(uri)
        return look(here.path, here.source, tuple(sorted(self._others(uri).items())))

    def _others(self, uri: str) -> dict[str, str]:
        open_ones = self.workspace.text_documents.items()
        return {one.path: one.source for key, one in open_ones if key != uri}

    def later(self, work: Any) -> None:
        """Have ``work`` done beside the answers."""
        task = asyncio.ensure_future(work)
        self.tasks.add(task)
        task.add_done_callback(self.tasks.discard)

    # --- remarks

    async def changed(self, uri: str, settled: float = SETTLED) -> None:
        """Look at a text, tell its remarks; make it when no keystroke comes for a while."""
        turn = self.turn[uri] = self.turn.get(uri, 0) + 1
        await asyncio.sleep(PAUSE)
        if self.turn.get(uri) != turn:
            return
        seen = self.look(uri)
        checking = asyncio.ensure_future(self.checker.done(seen.path, seen.text, self._others(uri)))
        await asyncio.sleep(0)  # it is under way while this process reads
        if seen.program.faults:  # what cannot be read is told before anything is worked out
            self.tell(uri, seen, seen.program.faults)
        self.read[uri] = seen
        remarks = await checking
        if remarks is not None and self.turn.get(uri) == turn and not self.over:
            self.tell(uri, seen, remarks)
        await asyncio.sleep(settled)
        if self.turn.get(uri) == turn:
            await self.make(uri, turn)

    async def make(self, uri: str, turn: int) -> None:
        """Make a text, tell its weight and what only metal shows."""
        here = self.text(uri)
        came = await self.maker.done(here.path, here.source, self._others(uri))
        if came is None or uri not in self.turn or self.over:
            return
        if came.told:
            self.weighed[uri] = came
            self.workspace_inlay_hint_refresh(None)
        if self.turn.get(uri) == turn:
            self.tell(uri, self.look(uri), came.remarks)

    def tell(self, uri: str, seen: Look, remarks: Sequence[Fault]) -> None:
        """Show remarks at their places."""
        if self.over:
            return
        here = self.text(uri)
        self.remarks[uri] = remarks
        told = [_diagnostic(here, seen, one) for one in remarks if not is_waived(one)]
        self.text_document_publish_diagnostics(lsp.PublishDiagnosticsParams(uri, told, here.version))


def _range(here: TextDocument, start: int, end: int) -> lsp.Range:
    return lsp.Range(here.client_position_at_offset(start), here.client_position_at_offset(end))


def _diagnostic(here: TextDocument, seen: Look, fault: Fault) -> lsp.Diagnostic:
    """A remark as the protocol has it; one in another file stands where that is taken."""
    message = fault.message
    if fault.seen is not None or fault.limit is not None:
        message += f"\nnow {fault.seen or '-'}, wanted {fault.limit or '-'}"
    if fault.remedy:
        message += f"\n{fault.remedy}"
    places = (one for one in (*fault.trail, fault.span) if one is not None and one.path == seen.path)
    span = next(places, None)
    if span is None and fault.span is not None:
        message = f"{fault.span.path} line {fault.span.line}: {message}"
        taking = ((one, path) for one, path in seen.program.origin.items() if one.path == seen.path)
        span = next((one for one, path in taking if path == fault.span.path), None)
    place = (0, 0) if span is None else (span.start, max(span.end, span.start + 1))
    also = [
        lsp.DiagnosticRelatedInformation(lsp.Location(here.uri, _range(here, one.start, one.end)), said)
        for one, said in fault.also if one.path == seen.path
    ]  # fmt: skip
    return lsp.Diagnostic(
        _range(here, *place), message, _LEVELS[fault.level], fault.code, source="posy",
        related_information=also,
    )  # fmt: skip


def desk() -> Desk:
    """The server with all that it answers."""
    server = Desk()
    _texts(server)
    _writing(server)
    _asking(server)
    return server


def _texts(server: Desk) -> None:
    """Texts opened, changed, saved and closed."""

    @server.feature(lsp.INITIALIZE)
    def begun(desk: Desk, params: lsp.InitializeParams) -> None:
        wished = params.initialization_options
        if isinstance(wished, dict):
            desk.tidy_on_save = wished.get("tidyOnSave") is not False
        desk.checker.warm()

    @server.feature(lsp.TEXT_DOCUMENT_DID_OPEN)
    def opened(desk: Desk, params: lsp.DidOpenTextDocumentParams) -> None:
        desk.later(desk.changed(params.text_document.uri, 0.0))

    @server.feature(lsp.TEXT_DOCUMENT_DID_CHANGE)
    def changed(desk: Desk, params: lsp.DidChangeTextDocumentParams) -> None:
        desk.later(desk.changed(params.text_document.uri))

    @server.feature(lsp.TEXT_DOCUMENT_DID_SAVE)
    def saved(desk: Desk, params: lsp.DidSaveTextDocumentParams) -> None:
        desk.later(desk.changed(params.text_document.uri, 0.0))

    @server.feature(lsp.TEXT_DOCUMENT_DID_CLOSE)
    def closed(desk: Desk, params: lsp.DidCloseTextDocumentParams) -> None:
        uri = params.text_document.uri
        for known in (desk.remarks, desk.weighed, desk.turn, desk.read):
            known.pop(uri, None)  # type: ignore[attr-defined]
        desk.text_document_publish_diagnostics(lsp.PublishDiagnosticsParams(uri, []))

    @server.feature(lsp.SHUTDOWN)
    def ended(desk: Desk, params: None) -> None:
        desk.close()


def _writing(server: Desk) -> None:
    """What changes the text: completion, tidying, names, mends."""

    asked_by = lsp.CompletionOptions(trigger_characters=[" ", ",", ":", '"'])

    @server.feature(lsp.TEXT_DOCUMENT_COMPLETION, asked_by)
    def complete(desk: Desk, params: lsp.CompletionParams) -> lsp.CompletionList:
        here = desk.text(params.text_document.uri)
        offset = here.offset_at_position(params.position)
        # A keystroke old is new enough for the names, and spares reading the text before answering.
        known = desk.read.get(here.uri) or desk.look(here.uri)
        found = completion.offers_at(known, offset, here.source)
        place = _range(here, found.start, offset)
        items = [
            lsp.CompletionItem(
                one.text, kind=_KINDS[one.kind], documentation=one.about or None,
                sort_text=f"{one.rank}{number:04}", text_edit=lsp.TextEdit(place, one.text),
            )
            for number, one in enumerate(found.offers)
        ]  # fmt: skip
        return lsp.CompletionList(False, items)

    def tidied(desk: Desk, uri: str) -> list[lsp.TextEdit]:
        here, seen = desk.text(uri), desk.look(uri)
        new, faults = text_tidied(here.source, here.path, Over(seen.files, {here.path: here.source}))
        same = faults or new == here.source
        return [] if same else [lsp.TextEdit(_range(here, 0, len(here.source)), new)]

    @server.feature(lsp.TEXT_DOCUMENT_FORMATTING)
    def tidy(desk: Desk, params: lsp.DocumentFormattingParams) -> list[lsp.TextEdit]:
        return tidied(desk, params.text_document.uri)

    @server.feature(lsp.TEXT_DOCUMENT_WILL_SAVE_WAIT_UNTIL)
    def before_saving(desk: Desk, params: lsp.WillSaveTextDocumentParams) -> list[lsp.TextEdit]:
        return tidied(desk, params.text_document.uri) if desk.tidy_on_save else []

    @server.feature(lsp.TEXT_DOCUMENT_PREPARE_RENAME)
    def can_rename(desk: Desk, params: lsp.PrepareRenameParams) -> lsp.Range | None:
        here, seen = desk.text(params.text_document.uri), desk.look(params.text_document.uri)
        offset = here.offset_at_position(params.position)
        binding = seen.scopes.at(offset)
        if binding is None or binding.kind not in names.RENAMED:
            return None
        return next(_range(here, *one) for one in binding.written() if one[0] <= offset <= one[1])

    @server.feature(lsp.TEXT_DOCUMENT_RENAME, lsp.RenameOptions(prepare_provider=True))
    def rename(desk: Desk, params: lsp.RenameParams) -> lsp.WorkspaceEdit | None:
        uri = params.text_document.uri
        here = desk.text(uri)
        offset = here.offset_at_position(params.position)
        places, why_not = names.renamed_at(desk.look(uri), offset, params.new_name)
        if not places:
            desk.window_show_message(lsp.ShowMessageParams(lsp.MessageType.Warning, f"posy: {why_not}"))
            return None
        return lsp.WorkspaceEdit({uri: [lsp.TextEdit(_range(here, *one), params.new_name) for one in places]})

    @server.feature(
        lsp.TEXT_DOCUMENT_CODE_ACTION, lsp.CodeActionOptions(code_action_kinds=[lsp.CodeActionKind.QuickFix])
    )
    def mend(desk: Desk, params: lsp.CodeActionParams) -> list[lsp.CodeAction]:
        uri = params.text_document.uri
        here, seen = desk.text(uri), desk.look(uri)
        spots = (here.offset_at_position(one) for one in (params.range.start, params.range.end))
        return [
            lsp.CodeAction(
                one.title, lsp.CodeActionKind.QuickFix, [_diagnostic(here, seen, one.fault)],
                edit=lsp.WorkspaceEdit({uri: [lsp.TextEdit(_range(here, one.start, one.end), one.text)]}),
            )
            for one in mends(seen, desk.remarks.get(uri, ()), *spots)
        ]  # fmt: skip


def _asking(server: Desk) -> None:
    """What tells of the text: hover, definitions, the weight."""

    @server.feature(lsp.TEXT_DOCUMENT_HOVER)
    def tell(desk: Desk, params: lsp.HoverParams) -> lsp.Hover | None:
        here = desk.text(params.text_document.uri)
        told = hover.told_at(desk.look(params.text_document.uri), here.offset_at_position(params.position))
        said = told and lsp.MarkupContent(lsp.MarkupKind.Markdown, told.text)
        return lsp.Hover(said, _range(here, told.start, told.end)) if told and said else None

    @server.feature(lsp.TEXT_DOCUMENT_DEFINITION)
    def given(desk: Desk, params: lsp.DefinitionParams) -> lsp.Location | None:
        here = desk.text(params.text_document.uri)
        found = names.given_at(desk.look(params.text_document.uri), here.offset_at_position(params.position))
        if found is None:
            return None
        uri = here.uri if found.path == here.path else from_fs_path(found.path) or here.uri
        there = TextDocument(uri, found.text, position_codec=here.position_codec)
        return lsp.Location(uri, _range(there, found.start, found.end))

    @server.feature(lsp.TEXT_DOCUMENT_INLAY_HINT)
    def weight(desk: Desk, params: lsp.InlayHintParams) -> list[lsp.InlayHint]:
        uri = params.text_document.uri
        here, made = desk.text(uri), desk.weighed.get(uri)
        if made is None:
            return []
        label = made.told if made.text == here.source else f"{made.told}, before the last change"
        place = here.client_position_at_offset(line_of(desk.look(uri)))
        return [lsp.InlayHint(place, label, padding_left=True)]
