"""Features of the language server about texts: opened, changed, saved, and what is found in them."""

from __future__ import annotations

import contextlib

from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException
from pygls.lsp.server import LanguageServer
from pygls.uris import to_fs_path

from ...checks.runner.run import catalogue
from ...lang.diagnostics.messages import Diagnostics
from ...lang.files.reading import UnreadableError
from ...lang.syntax.parser import parse
from .diagnostics import SOURCE, Problem, by_file
from .documents import Documents
from .judging import Judging


def add_texts(server: LanguageServer, documents: Documents, judging: Judging) -> None:
    """Texts come, change and go."""

    @server.feature(lsp.INITIALIZED)
    async def initialized(_params: lsp.InitializedParams) -> None:
        documents.workspace.folders = tuple(
            path for uri in server.workspace.folders if (path := to_fs_path(uri)) is not None
        ) or ((server.workspace.root_path,) if server.workspace.root_path else ())
        await documents.ask(_warm_up)
        workspace = server.client_capabilities.workspace
        watching = workspace.did_change_watched_files if workspace is not None else None
        if watching is not None and watching.dynamic_registration:
            options = lsp.DidChangeWatchedFilesRegistrationOptions([lsp.FileSystemWatcher("**/*.loom")])
            registration = lsp.Registration("loom-files", lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES, options)
            with contextlib.suppress(JsonRpcException):  # it promised what it cannot do: a save is heard all the same
                await server.client_register_capability_async(lsp.RegistrationParams([registration]))

    @server.feature(lsp.TEXT_DOCUMENT_DID_OPEN)
    def opened(params: lsp.DidOpenTextDocumentParams) -> None:
        documents.workspace.put(documents.path(params.text_document.uri), params.text_document.text)
        judging.changed()

    @server.feature(lsp.TEXT_DOCUMENT_DID_CHANGE)
    def changed(params: lsp.DidChangeTextDocumentParams) -> None:
        document = server.workspace.get_text_document(params.text_document.uri)
        documents.workspace.put(documents.path(params.text_document.uri), document.source)
        judging.changed()

    @server.feature(lsp.TEXT_DOCUMENT_DID_CLOSE)
    def closed(params: lsp.DidCloseTextDocumentParams) -> None:
        documents.workspace.take(documents.path(params.text_document.uri))
        judging.changed()

    @server.feature(lsp.TEXT_DOCUMENT_DID_SAVE)
    def saved(_params: lsp.DidSaveTextDocumentParams) -> None:
        documents.workspace.disk_changed()
        judging.changed()

    @server.feature(lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES)
    def files_changed(_params: lsp.DidChangeWatchedFilesParams) -> None:
        documents.workspace.disk_changed()
        judging.changed()

    @server.feature(
        lsp.TEXT_DOCUMENT_DIAGNOSTIC,
        lsp.DiagnosticOptions(inter_file_dependencies=True, workspace_diagnostics=False, identifier=SOURCE),
    )
    async def pulled(params: lsp.DocumentDiagnosticParams) -> lsp.RelatedFullDocumentDiagnosticReport:
        found: list[Problem] = []
        names: set[str] = set()
        for root in documents.workspace.roots_of(documents.path(params.text_document.uri)):
            problems = None
            while problems is None:  # the text changed meanwhile: the newest one is what is asked about
                try:
                    known = documents.workspace.understood(root)
                except UnreadableError:
                    break
                problems = await judging.problems(known)
                names.add(known.file_of(documents.path(params.text_document.uri)) or "")
                if problems is not None:
                    judging.search_for(known)
            found += problems or ()
        items = [problem for name in sorted(names) for problem in by_file(found).get(name, [])]
        return lsp.RelatedFullDocumentDiagnosticReport(documents.diagnostics(items))


def _warm_up() -> None:
    """Loads what the first text would have to wait for."""
    parse("wire 1 A.1 to B.1", "warm", Diagnostics())
    catalogue()
