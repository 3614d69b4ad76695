"""The Language Server Protocol over standard input and output: what an editor asks, from the functions beside it.

Diagnostics are told at once. The rules take longer, so they are asked in a thread when the typing pauses, and given up
when it goes on; only the latest text of a harness is ever judged. Every place that leaves or comes in goes through
``positions.Sheet``.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import sys
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException
from pygls.lsp.server import LanguageServer
from pygls.uris import from_fs_path, to_fs_path

from ...checks.runner.run import catalogue
from ...lang.diagnostics.messages import Diagnostics
from ...lang.editing.formatter import TidyError
from ...lang.files.reading import UnreadableError
from ...lang.syntax.parser import parse
from .code_actions import Fix, fixes
from .completion import Offer, completion
from .diagnostics import SOURCE, Problem, by_file, of_causes, of_fault, of_mistakes, of_report, of_terms
from .formatting import tidied
from .hover import hover
from .inlay_hints import lengths
from .navigation import definitions, references
from .occurrences import Occurrence, mention_at
from .outline import Symbol, outline
from .positions import Place, Sheet, Shown
from .renaming import Change, RefusedError, check_nameable, renamed
from .workspace import CannotJudgeError, GivenUpError, Terms, Understood, Workspace, path_of

if TYPE_CHECKING:
    from ...lang.diagnostics.diagnostic import Span

Result = TypeVar("Result")

SETTLE: Final = 0.002
"""s after a change until it is read: what an editor sends in one go is read once."""

PAUSE: Final = 0.1
"""s without a change until the rules are asked."""

TURN: Final = 0.0005
"""s after which the thread of the rules gives way to that of the editor, so that no key waits for a rule."""

REQUEST_FAILED: Final = -32803
"""The protocol's code for a request that was understood and is refused."""

TRIGGERS: Final = (".", " ", "/")
"""What makes an editor ask for completions while somebody types: a point, a space, the stripe of a colour."""

SEVERITIES: Final = {
    "error": lsp.DiagnosticSeverity.Error,
    "warning": lsp.DiagnosticSeverity.Warning,
    "note": lsp.DiagnosticSeverity.Information,
}
OFFERED: Final = {
    "statement": lsp.CompletionItemKind.Keyword,
    "word": lsp.CompletionItemKind.Keyword,
    "part": lsp.CompletionItemKind.Class,
    "wire": lsp.CompletionItemKind.Variable,
    "place": lsp.CompletionItemKind.Folder,
    "state": lsp.CompletionItemKind.Event,
    "pattern": lsp.CompletionItemKind.Interface,
    "terminal": lsp.CompletionItemKind.Field,
    "inner": lsp.CompletionItemKind.Property,
    "position": lsp.CompletionItemKind.EnumMember,
    "unit": lsp.CompletionItemKind.Unit,
    "colour": lsp.CompletionItemKind.Color,
    "size": lsp.CompletionItemKind.Value,
    "rule": lsp.CompletionItemKind.Reference,
    "file": lsp.CompletionItemKind.File,
    "system": lsp.CompletionItemKind.Module,
}
SYMBOLS: Final = {
    "title": lsp.SymbolKind.String,
    "place": lsp.SymbolKind.Namespace,
    "part": lsp.SymbolKind.Class,
    "pattern": lsp.SymbolKind.Interface,
    "wire": lsp.SymbolKind.Variable,
    "state": lsp.SymbolKind.Event,
    "expect": lsp.SymbolKind.Boolean,
    "inner": lsp.SymbolKind.Field,
}


class Session:
    """One editor: its open texts, what was found in each harness, and what it was told.

    Everything runs in the loop's thread but the questions to an examination, which one worker answers, one at a time.
    """

    def __init__(self, server: LanguageServer, terms: Callable[[str], Terms]) -> None:
        self.server = server
        self.workspace = Workspace(date.today, terms)
        self.worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="rules")
        self._uris: dict[str, str] = {}
        self._known: dict[str, Understood] = {}
        self._found: dict[str, tuple[Problem, ...]] = {}
        self._judging: dict[str, tuple[Understood, asyncio.Task[tuple[Problem, ...] | None]]] = {}
        self._second: dict[str, tuple[Understood, tuple[Problem, ...]]] = {}
        self._searching: dict[str, Understood] = {}
        self._waiting: set[asyncio.Task[None]] = set()
        self._told: set[str] = set()
        self._timers: dict[str, asyncio.TimerHandle] = {}

    # --- names and places
    def path(self, uri: str) -> str:
        """The path of a document; a document that is no file is named by its URI."""
        path = to_fs_path(uri) or uri
        self._uris[path] = uri
        return path

    def uri(self, file: str) -> str:
        """The URI of a file of a reading, as the editor writes it."""
        path = path_of(file)
        return self._uris.get(path) or from_fs_path(os.fspath(Path(path).absolute())) or path

    def sheet(self, file: str) -> Sheet:
        try:
            text = self.workspace.text(path_of(file))
        except (OSError, ValueError):
            text = ""
        return Sheet(text, self.server.workspace.position_codec.client_num_units)

    def range(self, span: Span, sheet: Sheet | None = None) -> lsp.Range:
        return _range(*(sheet or self.sheet(span.file)).of_span(span))

    def location(self, span: Span) -> lsp.Location:
        return lsp.Location(self.uri(span.file), self.range(span))

    def known(self, uri: str) -> tuple[Understood, str] | None:
        """The harness that a document belongs to, as its texts are now, and the document's name in it.

        Of several that use it the first; ``None`` where it cannot be read.
        """
        path = self.path(uri)
        for root in self.workspace.roots_of(path):
            try:
                known = self.workspace.understood(root)
            except UnreadableError:
                continue
            if (file := known.file_of(path)) is not None:
                return known, file
        return None

    def all_known(self, uri: str) -> tuple[Understood, ...]:
        """Every harness that a document belongs to."""
        found = []
        for root in self.workspace.roots_of(self.path(uri)):
            try:
                found.append(self.workspace.understood(root))
            except UnreadableError:
                continue
        return tuple(found)

    def place(self, file: str, position: lsp.Position) -> Place:
        return self.sheet(file).place(Shown(position.line, position.character))

    def mention(self, params: Any) -> tuple[Understood, Occurrence] | None:
        """The name at the place that a request asks about."""
        if (found := self.known(params.text_document.uri)) is None:
            return None
        known, file = found
        mention = mention_at(known.mentions[file], *self.place(file, params.position))
        return None if mention is None else (known, mention)

    async def ask(self, question: Callable[..., Result], *of: Any) -> Result:
        """An answer from the worker, who alone asks examinations."""
        return await asyncio.get_running_loop().run_in_executor(self.worker, question, *of)

    # --- what is found
    @property
    def pulls(self) -> bool:
        """Whether the editor asks for what is found, and is not to be told."""
        document = self.server.client_capabilities.text_document
        return document is not None and document.diagnostic is not None

    def changed(self) -> None:
        """Some text has changed: it is read when the editor has sent all of it."""
        self._later("read", SETTLE, self._read)

    def _later(self, what: str, seconds: float, work: Callable[[], None]) -> None:
        if what in self._timers:
            self._timers[what].cancel()
        self._timers[what] = asyncio.get_running_loop().call_later(seconds, work)

    def _read(self) -> None:
        """Reads every harness of which a text has changed, and tells its mistakes; asks the rules a little later."""
        roots = self.workspace.roots()
        tell = set(self._known) - set(roots)
        for gone in sorted(tell):
            self._known.pop(gone).give_up()
            for kept in (self._found, self._second, self._searching):
                kept.pop(gone, None)
        for root in roots:
            try:
                known = self.workspace.understood(root)
            except UnreadableError:
                continue
            if known is self._known.get(root):
                continue
            before = self._known.get(root)
            self._known[root] = known
            if not known.sound:
                self._found[root] = _at_once(known)
            elif before is not None and before.sound:
                continue  # what was found before stays in sight until the rules have spoken
            else:
                self._found[root] = ()
            tell.add(root)
        if tell:
            self._tell()
        if any(known.sound for known in self._known.values()) and not self.pulls:
            self._later("judge", PAUSE, self._judge)

    def _judge(self) -> None:
        """Asks the rules about every harness that has no mistakes."""
        for known in self._known.values():
            if known.sound:
                self._waiting.add(task := asyncio.ensure_future(self._tell_judged(known)))
                task.add_done_callback(self._waiting.discard)

    async def _tell_judged(self, known: Understood) -> None:
        found = await self.judgement(known)
        if found is not None and self._known.get(known.root) is known:
            self._found[known.root] = found
            self._tell()
            second = await self._searched(known)
            if second is not None and self._known.get(known.root) is known:
                self._found[known.root] = second
                self._tell()

    async def _searched(self, known: Understood) -> tuple[Problem, ...] | None:
        """The second answer: all that is found, what one small change would settle before it, and what follows from a
        cause with that. ``None`` where it says no more than the first.
        """
        try:
            report = await self.ask(known.searched)
            if report.causes is None:
                return None
            found = (*of_causes(report), *of_report(report))
        except (GivenUpError, CannotJudgeError):
            return None  # the text has changed, or the first answer has said that there are no terms to judge by
        except Exception as error:  # noqa: BLE001  whatever it is: the rider must hear that it was not searched
            found = (*of_fault(known.reading, error), *(await self.judgement(known) or ()))
        self._second[known.root] = (known, found)
        return found

    def search_for(self, known: Understood) -> None:
        """Has the second answer made for an editor that asks itself, once for each text, and has it ask again then."""
        if not known.sound or self._searching.get(known.root) is known:
            return
        self._searching[known.root] = known
        self._waiting.add(task := asyncio.ensure_future(self._refreshed(known)))
        task.add_done_callback(self._waiting.discard)

    async def _refreshed(self, known: Understood) -> None:
        workspace = self.server.client_capabilities.workspace
        can = workspace is not None and workspace.diagnostics is not None and workspace.diagnostics.refresh_support
        if await self._searched(known) is not None and can and self._searching.get(known.root) is known:
            self.server.workspace_diagnostic_refresh(None)

    def judgement(self, known: Understood) -> asyncio.Task[tuple[Problem, ...] | None]:
        """What the rules find in a harness without mistakes, asked once; ``None`` where its text changed meanwhile."""
        running = self._judging.get(known.root)
        if running is None or running[0] is not known:
            running = self._judging[known.root] = (known, asyncio.ensure_future(self._judged(known)))
        return running[1]

    async def _judged(self, known: Understood) -> tuple[Problem, ...] | None:
        try:
            return of_report(await self.ask(known.report))
        except GivenUpError:
            return None
        except CannotJudgeError as error:
            return of_terms(known.reading, str(error))
        except Exception as error:  # noqa: BLE001  whatever it is: the rider must hear that nothing was checked
            return of_fault(known.reading, error)

    async def problems(self, known: Understood) -> tuple[Problem, ...] | None:
        """All that is found in a harness: the second answer where there is one by now."""
        if (second := self._second.get(known.root)) is not None and second[0] is known:
            return second[1]
        return await self.judgement(known) if known.sound else _at_once(known)

    def _tell(self) -> None:
        """Tells the editor what is found in each file, and clears the files in which nothing is found any more."""
        if self.pulls:
            return
        files = {file: None for known in self._known.values() for file in known.syntaxes}
        found = by_file(problem for root in sorted(self._found) for problem in self._found[root])
        told = set()
        for file in dict.fromkeys((*files, *found)):
            uri = self.uri(file)
            problems = found.get(file, [])
            if problems or uri in self._told or path_of(file) in self.workspace.open:
                self._publish(uri, self.diagnostics(problems))
            if problems:
                told.add(uri)
        for uri in sorted(self._told - told - {self.uri(file) for file in files}):
            self._publish(uri, [])
        self._told = told

    def _publish(self, uri: str, diagnostics: list[lsp.Diagnostic]) -> None:
        document = self.server.workspace.text_documents.get(uri)
        version = document.version if document is not None else None
        self.server.text_document_publish_diagnostics(lsp.PublishDiagnosticsParams(uri, diagnostics, version))

    def diagnostics(self, problems: Iterable[Problem]) -> list[lsp.Diagnostic]:
        sheets: dict[str, Sheet] = {}

        def range_of(span: Span) -> lsp.Range:
            if span.file not in sheets:
                sheets[span.file] = self.sheet(span.file)
            return self.range(span, sheets[span.file])

        return [
            lsp.Diagnostic(
                range=range_of(problem.span),
                message=problem.message,
                severity=SEVERITIES[problem.level],
                code=problem.code,
                source=SOURCE,
                related_information=[
                    lsp.DiagnosticRelatedInformation(
                        lsp.Location(self.uri(note.span.file), range_of(note.span)), note.text
                    )
                    for note in problem.related
                ]
                or None,
            )
            for problem in problems
        ]

    # --- changes
    def workspace_edit(self, changes: Iterable[Change]) -> lsp.WorkspaceEdit:
        """Changes as edits of documents, with their versions where the editor can tell them apart."""
        by_uri: dict[str, list[lsp.TextEdit | lsp.AnnotatedTextEdit | lsp.SnippetTextEdit]] = {}
        for change in changes:
            edit = lsp.TextEdit(self.range(change.span), change.text)
            by_uri.setdefault(self.uri(change.span.file), []).append(edit)
        workspace = self.server.client_capabilities.workspace
        if workspace is None or workspace.workspace_edit is None or not workspace.workspace_edit.document_changes:
            plain = {uri: [edit for edit in edits if isinstance(edit, lsp.TextEdit)] for uri, edits in by_uri.items()}
            return lsp.WorkspaceEdit(changes=plain)
        documents = self.server.workspace.text_documents
        return lsp.WorkspaceEdit(
            document_changes=[
                lsp.TextDocumentEdit(
                    lsp.OptionalVersionedTextDocumentIdentifier(
                        uri, documents[uri].version if uri in documents else None
                    ),
                    edits,
                )
                for uri, edits in by_uri.items()
            ]
        )


def _at_once(known: Understood) -> tuple[Problem, ...]:
    """What there is to say without asking the rules."""
    if known.surveyed is not None:
        return known.surveyed.problems(known.reading)
    return of_terms(known.reading, known.unjudged) if known.unjudged else of_mistakes(known.reading)


def _range(start: Shown, end: Shown) -> lsp.Range:
    return lsp.Range(lsp.Position(*start), lsp.Position(*end))


def make_server(terms: Callable[[str], Terms]) -> LanguageServer:
    """A server; it speaks when it is started. ``terms`` are those that a harness, by its file, is judged by."""
    from ... import __version__

    server = LanguageServer("loomwright", __version__, text_document_sync_kind=lsp.TextDocumentSyncKind.Full)
    session = Session(server, terms)
    _texts(server, session)
    _questions(server, session)
    _changes(server, session)
    return server


def serve(terms: Callable[[str], Terms]) -> None:
    """Speaks with one editor over standard input and output until it says goodbye."""
    sys.setswitchinterval(TURN)
    make_server(terms).start_io()


def _texts(server: LanguageServer, session: Session) -> None:
    """Texts come, change and go."""

    @server.feature(lsp.INITIALIZED)
    async def initialized(_params: lsp.InitializedParams) -> None:
        session.workspace.folders = tuple(
            path for uri in server.workspace.folders if (path := to_fs_path(uri)) is not None
        ) or ((server.workspace.root_path,) if server.workspace.root_path else ())
        await session.ask(_warm_up)
        workspace = server.client_capabilities.workspace
        watching = workspace.did_change_watched_files if workspace is not None else None
        if watching is not None and watching.dynamic_registration:
            options = lsp.DidChangeWatchedFilesRegistrationOptions([lsp.FileSystemWatcher("**/*.loom")])
            registration = lsp.Registration("loom-files", lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES, options)
            with contextlib.suppress(JsonRpcException):  # it promised what it cannot do: a save is heard all the same
                await server.client_register_capability_async(lsp.RegistrationParams([registration]))

    @server.feature(lsp.TEXT_DOCUMENT_DID_OPEN)
    def opened(params: lsp.DidOpenTextDocumentParams) -> None:
        session.workspace.put(session.path(params.text_document.uri), params.text_document.text)
        session.changed()

    @server.feature(lsp.TEXT_DOCUMENT_DID_CHANGE)
    def changed(params: lsp.DidChangeTextDocumentParams) -> None:
        document = server.workspace.get_text_document(params.text_document.uri)
        session.workspace.put(session.path(params.text_document.uri), document.source)
        session.changed()

    @server.feature(lsp.TEXT_DOCUMENT_DID_CLOSE)
    def closed(params: lsp.DidCloseTextDocumentParams) -> None:
        session.workspace.take(session.path(params.text_document.uri))
        session.changed()

    @server.feature(lsp.TEXT_DOCUMENT_DID_SAVE)
    def saved(_params: lsp.DidSaveTextDocumentParams) -> None:
        session.workspace.disk_changed()
        session.changed()

    @server.feature(lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES)
    def files_changed(_params: lsp.DidChangeWatchedFilesParams) -> None:
        session.workspace.disk_changed()
        session.changed()

    @server.feature(
        lsp.TEXT_DOCUMENT_DIAGNOSTIC,
        lsp.DiagnosticOptions(inter_file_dependencies=True, workspace_diagnostics=False, identifier=SOURCE),
    )
    async def pulled(params: lsp.DocumentDiagnosticParams) -> lsp.RelatedFullDocumentDiagnosticReport:
        found: list[Problem] = []
        names: set[str] = set()
        for root in session.workspace.roots_of(session.path(params.text_document.uri)):
            problems = None
            while problems is None:  # the text changed meanwhile: the newest one is what is asked about
                try:
                    known = session.workspace.understood(root)
                except UnreadableError:
                    break
                problems = await session.problems(known)
                names.add(known.file_of(session.path(params.text_document.uri)) or "")
                if problems is not None:
                    session.search_for(known)
            found += problems or ()
        items = [problem for name in sorted(names) for problem in by_file(found).get(name, [])]
        return lsp.RelatedFullDocumentDiagnosticReport(session.diagnostics(items))


def _warm_up() -> None:
    """Loads what the first text would have to wait for."""
    parse("wire 1 A.1 to B.1", "warm", Diagnostics())
    catalogue()


def _questions(server: LanguageServer, session: Session) -> None:
    """What an editor asks about a text."""

    @server.feature(lsp.TEXT_DOCUMENT_COMPLETION, lsp.CompletionOptions(trigger_characters=list(TRIGGERS)))
    def complete(params: lsp.CompletionParams) -> lsp.CompletionList | None:
        if (found := session.known(params.text_document.uri)) is None:
            return None
        known, file = found
        sheet = session.sheet(file)
        line, column = session.place(file, params.position)
        surveyed = known.surveyed
        offers = completion(known, file, line, column) if surveyed is None else surveyed.completion(line, column)
        start = lsp.Position(*sheet.shown(Place(line, offers.column)))
        replaced = lsp.Range(start, params.position)
        items = [_item(offer, place, replaced) for place, offer in enumerate(offers.offers)]
        return lsp.CompletionList(is_incomplete=False, items=items)

    @server.feature(lsp.TEXT_DOCUMENT_HOVER)
    async def hovered(params: lsp.HoverParams) -> lsp.Hover | None:
        if (found := session.known(params.text_document.uri)) is None:
            return None
        known, file = found
        place = session.place(file, params.position)
        if known.surveyed is not None:
            about = await session.ask(known.surveyed.hover, *place)
        else:
            about = await session.ask(hover, known, file, *place) if known.sound else hover(known, file, *place)
        if about is None:
            return None
        return lsp.Hover(lsp.MarkupContent(lsp.MarkupKind.Markdown, about.text), session.range(about.span))

    @server.feature(lsp.TEXT_DOCUMENT_DEFINITION)
    def defined(params: lsp.DefinitionParams) -> list[lsp.Location] | None:
        found = session.mention(params)
        return [session.location(span) for span in definitions(*found)] if found is not None else None

    @server.feature(lsp.TEXT_DOCUMENT_REFERENCES)
    def mentioned(params: lsp.ReferenceParams) -> list[lsp.Location] | None:
        if (found := session.mention(params)) is None:
            return None
        spans = {
            span: None
            for known in session.all_known(params.text_document.uri)
            for span in references(known, found[1], definition=params.context.include_declaration)
        }
        return [session.location(span) for span in spans]

    @server.feature(lsp.TEXT_DOCUMENT_DOCUMENT_HIGHLIGHT)
    def highlighted(params: lsp.DocumentHighlightParams) -> list[lsp.DocumentHighlight] | None:
        if (found := session.mention(params)) is None:
            return None
        known, mention = found
        here = [span for span in references(known, mention, definition=True) if span.file == mention.span.file]
        return [lsp.DocumentHighlight(session.range(span)) for span in here]

    @server.feature(lsp.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
    def listed(params: lsp.DocumentSymbolParams) -> list[lsp.DocumentSymbol] | None:
        if (found := session.known(params.text_document.uri)) is None:
            return None
        known, file = found
        sheet = session.sheet(file)
        return [_symbol(symbol, sheet) for symbol in outline(known.syntaxes[file], known.mentions[file])]

    @server.feature(lsp.TEXT_DOCUMENT_INLAY_HINT)
    def hinted(params: lsp.InlayHintParams) -> list[lsp.InlayHint] | None:
        if (found := session.known(params.text_document.uri)) is None:
            return None
        known, file = found
        sheet = session.sheet(file)
        first, last = (session.place(file, end).line for end in (params.range.start, params.range.end))
        return [
            lsp.InlayHint(
                position=lsp.Position(*sheet.of_span(hint.span)[1]),
                label=hint.text,
                tooltip=hint.tooltip,
                padding_left=True,
            )
            for hint in lengths(known.harness, file, first, last)
        ]


def _changes(server: LanguageServer, session: Session) -> None:
    """What an editor changes at somebody's wish."""

    @server.feature(lsp.TEXT_DOCUMENT_FORMATTING)
    def formatted(params: lsp.DocumentFormattingParams) -> list[lsp.TextEdit] | None:
        path = session.path(params.text_document.uri)
        try:
            text = session.workspace.text(path)
            edits = tidied(text, path)
        except (TidyError, OSError, ValueError) as error:
            server.window_show_message(lsp.ShowMessageParams(lsp.MessageType.Warning, f"not tidied: {error}"))
            return None
        sheet = session.sheet(path)
        ranges = [_range(sheet.row_start(edit.first), sheet.row_start(edit.last)) for edit in edits]
        return [lsp.TextEdit(place, edit.text) for place, edit in zip(ranges, edits, strict=True)]

    @server.feature(lsp.TEXT_DOCUMENT_PREPARE_RENAME)
    def prepared(params: lsp.PrepareRenameParams) -> lsp.PrepareRenamePlaceholder | None:
        found = session.mention(params)
        try:
            mention = check_nameable(found[1] if found is not None else None)
        except RefusedError as refusal:
            raise JsonRpcException(str(refusal), REQUEST_FAILED) from None
        return lsp.PrepareRenamePlaceholder(session.range(mention.span), mention.name)

    @server.feature(lsp.TEXT_DOCUMENT_RENAME, lsp.RenameOptions(prepare_provider=True))
    def rename(params: lsp.RenameParams) -> lsp.WorkspaceEdit | None:
        found = session.mention(params)
        try:
            mention = check_nameable(found[1] if found is not None else None)
            known = session.all_known(params.text_document.uri)
            changes = renamed(
                known, mention, params.new_name, session.workspace.reread, session.workspace.old_names(known)
            )
        except RefusedError as refusal:
            raise JsonRpcException(str(refusal), REQUEST_FAILED) from None
        return session.workspace_edit(changes)

    @server.feature(lsp.TEXT_DOCUMENT_CODE_ACTION, lsp.CodeActionOptions([lsp.CodeActionKind.QuickFix]))
    async def offered(params: lsp.CodeActionParams) -> list[lsp.CodeAction] | None:
        if (found := session.known(params.text_document.uri)) is None:
            return None
        known, file = found
        wanted = params.context.only
        if wanted and not any(lsp.CodeActionKind.QuickFix.value.startswith(kind) for kind in wanted):
            return None
        problems = await session.problems(known) or ()
        first, last = (session.place(file, end) for end in (params.range.start, params.range.end))
        here = [problem for problem in problems if problem.span.file == file and _meet(problem.span, first, last)]
        try:
            offers = await session.ask(_fixes, known, here)
        except GivenUpError:
            return None  # the text changed meanwhile, and the editor asks again
        return [
            lsp.CodeAction(
                title=fix.title,
                kind=lsp.CodeActionKind.QuickFix,
                diagnostics=session.diagnostics([fix.problem]),
                is_preferred=True if fix.sure else None,
                edit=session.workspace_edit(fix.changes),
            )
            for fix in offers
        ]


def _meet(span: Span, first: Place, last: Place) -> bool:
    """Whether a span and a stretch of a text have a place in common."""
    return (span.line, span.column) <= last and first <= (span.line, span.end_column)


def _fixes(known: Understood, problems: Iterable[Problem]) -> list[Fix]:
    return [fix for problem in problems for fix in fixes(known, problem)]


def _item(offer: Offer, place: int, replaced: lsp.Range) -> lsp.CompletionItem:
    return lsp.CompletionItem(
        label=offer.text,
        kind=OFFERED[offer.sort],
        detail=offer.detail or None,
        sort_text=f"{place:05}",
        filter_text=offer.text,
        text_edit=lsp.TextEdit(replaced, offer.text),
    )


def _symbol(symbol: Symbol, sheet: Sheet) -> lsp.DocumentSymbol:
    return lsp.DocumentSymbol(
        name=symbol.name,
        kind=SYMBOLS[symbol.sort],
        range=_range(sheet.of_span(symbol.start)[0], sheet.of_span(symbol.end)[1]),
        selection_range=_range(*sheet.of_span(symbol.name_span)),
        detail=symbol.detail or None,
        children=[_symbol(child, sheet) for child in symbol.children] or None,
    )
