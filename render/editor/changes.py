"""Features of the language server that change a text: formatting, renaming and quick fixes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException
from pygls.lsp.server import LanguageServer

from ...lang.editing.formatter import TidyError
from .code_actions import Fix, fixes
from .diagnostics import Problem
from .documents import Documents, shown_range
from .formatting import tidied
from .judging import Judging
from .positions import Place
from .renaming import RefusedError, check_nameable, renamed
from .workspace import GivenUpError, Understood

if TYPE_CHECKING:
    from ...lang.diagnostics.diagnostic import Span


REQUEST_FAILED: Final = -32803
"""The protocol's code for a request that was understood and is refused."""


def add_changes(server: LanguageServer, documents: Documents, judging: Judging) -> None:
    """What an editor changes at somebody's wish."""

    @server.feature(lsp.TEXT_DOCUMENT_FORMATTING)
    def formatted(params: lsp.DocumentFormattingParams) -> list[lsp.TextEdit] | None:
        path = documents.path(params.text_document.uri)
        try:
            text = documents.workspace.text(path)
            edits = tidied(text, path)
        except (TidyError, OSError, ValueError) as error:
            server.window_show_message(lsp.ShowMessageParams(lsp.MessageType.Warning, f"not tidied: {error}"))
            return None
        sheet = documents.sheet(path)
        ranges = [shown_range(sheet.row_start(edit.first), sheet.row_start(edit.last)) for edit in edits]
        return [lsp.TextEdit(place, edit.text) for place, edit in zip(ranges, edits, strict=True)]

    @server.feature(lsp.TEXT_DOCUMENT_PREPARE_RENAME)
    def prepared(params: lsp.PrepareRenameParams) -> lsp.PrepareRenamePlaceholder | None:
        found = documents.mention(params)
        try:
            mention = check_nameable(found[1] if found is not None else None)
        except RefusedError as refusal:
            raise JsonRpcException(str(refusal), REQUEST_FAILED) from None
        return lsp.PrepareRenamePlaceholder(documents.range(mention.span), mention.name)

    @server.feature(lsp.TEXT_DOCUMENT_RENAME, lsp.RenameOptions(prepare_provider=True))
    def rename(params: lsp.RenameParams) -> lsp.WorkspaceEdit | None:
        found = documents.mention(params)
        try:
            mention = check_nameable(found[1] if found is not None else None)
            known = documents.all_known(params.text_document.uri)
            changes = renamed(
                known, mention, params.new_name, documents.workspace.reread, documents.workspace.old_names(known)
            )
        except RefusedError as refusal:
            raise JsonRpcException(str(refusal), REQUEST_FAILED) from None
        return documents.workspace_edit(changes)

    @server.feature(lsp.TEXT_DOCUMENT_CODE_ACTION, lsp.CodeActionOptions([lsp.CodeActionKind.QuickFix]))
    async def offered(params: lsp.CodeActionParams) -> list[lsp.CodeAction] | None:
        if (found := documents.known(params.text_document.uri)) is None:
            return None
        known, file = found
        wanted = params.context.only
        if wanted and not any(lsp.CodeActionKind.QuickFix.value.startswith(kind) for kind in wanted):
            return None
        problems = await judging.problems(known) or ()
        first, last = (documents.place(file, end) for end in (params.range.start, params.range.end))
        here = [problem for problem in problems if problem.span.file == file and _meet(problem.span, first, last)]
        try:
            offers = await documents.ask(_fixes, known, here)
        except GivenUpError:
            return None  # the text changed meanwhile, and the editor asks again
        return [
            lsp.CodeAction(
                title=fix.title,
                kind=lsp.CodeActionKind.QuickFix,
                diagnostics=documents.diagnostics([fix.problem]),
                is_preferred=True if fix.sure else None,
                edit=documents.workspace_edit(fix.changes),
            )
            for fix in offers
        ]


def _meet(span: Span, first: Place, last: Place) -> bool:
    """Whether a span and a stretch of a text have a place in common."""
    return (span.line, span.column) <= last and first <= (span.line, span.end_column)


def _fixes(known: Understood, problems: Iterable[Problem]) -> list[Fix]:
    return [fix for problem in problems for fix in fixes(known, problem)]
