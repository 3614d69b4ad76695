"""The documents of an editor: what each is called, which harness it belongs to, and places as the editor counts."""

from __future__ import annotations

import asyncio
import gc
import os
from collections.abc import Callable, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from datetime import date
from pathlib import Path
from queue import SimpleQueue
from typing import TYPE_CHECKING, Any, Final, TypeVar

from lsprotocol import types as lsp
from pygls.lsp.server import LanguageServer
from pygls.uris import from_fs_path, to_fs_path

from ...lang.files.reading import UnreadableError
from .diagnostics import SOURCE, Problem
from .occurrences import Occurrence, mention_at
from .positions import Place, Sheet, Shown
from .renaming import Change
from .workspace import Terms, Understood, Workspace, path_of

if TYPE_CHECKING:
    from ...lang.diagnostics.diagnostic import Span


Result = TypeVar("Result")

SEVERITIES: Final = {
    "error": lsp.DiagnosticSeverity.Error,
    "warning": lsp.DiagnosticSeverity.Warning,
    "note": lsp.DiagnosticSeverity.Information,
}


TIDY: Final = 0.3
"""s without a question until garbage is looked for."""

TIDY_ALL: Final = 50
"""This many times only new garbage is looked for, then all of it (ours)."""


class Documents:
    """The open texts and their harnesses. Everything runs in the loop's thread but the questions to an examination,
    which one worker answers, one at a time.
    """

    def __init__(self, server: LanguageServer, terms: Callable[[str], Terms]) -> None:
        self.server = server
        self._waiting: SimpleQueue[Callable[[], None]] = SimpleQueue()
        self.workspace = Workspace(date.today, terms, self._answer_waiting)
        self.worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="rules")
        self._uris: dict[str, str] = {}
        self._tidying: asyncio.TimerHandle | None = None
        self._tidied = 0

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
        return shown_range(*(sheet or self.sheet(span.file)).of_span(span))

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
        try:
            return await asyncio.get_running_loop().run_in_executor(self.worker, question, *of)
        finally:
            self._tidy_later()

    async def ask_soon(self, question: Callable[..., Result], *of: Any) -> Result:
        """The same for somebody who looks at the screen: where the worker examines a harness, it answers before the
        next rule.
        """
        answer: Future[Result] = Future()

        def give() -> None:
            if answer.set_running_or_notify_cancel():
                try:
                    answer.set_result(question(*of))
                except Exception as error:  # noqa: BLE001  whatever it is: whoever asked hears of it
                    answer.set_exception(error)

        self._waiting.put(give)
        self.worker.submit(self._answer_waiting)
        return await asyncio.wrap_future(answer)

    def _tidy_later(self) -> None:
        """Has the worker look for garbage once nobody has asked for a moment. An examination leaves circles of some ten
        thousand objects; where Python looks for them itself it does so seldom, for long, and in the middle of a check.
        """
        if self._tidying is not None:
            self._tidying.cancel()
        self._tidying = asyncio.get_running_loop().call_later(TIDY, self.worker.submit, self.tidy)

    def tidy(self) -> None:
        """Collects what is new, and now and then all."""
        self._tidied += 1
        gc.collect(2 if self._tidied % TIDY_ALL == 0 else 0)

    def _answer_waiting(self) -> None:
        """Answers all that was asked meanwhile; in the worker."""
        while not self._waiting.empty():
            self._waiting.get()()

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


def shown_range(start: Shown, end: Shown) -> lsp.Range:
    return lsp.Range(lsp.Position(*start), lsp.Position(*end))
