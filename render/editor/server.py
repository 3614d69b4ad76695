"""The Language Server Protocol over standard input and output: what an editor asks, from the functions beside it.

Diagnostics are reported at once. The rules take longer, so they run in a thread when the typing pauses, and end
when it goes on; only the latest text of a harness is ever judged. Every place that leaves or comes in goes through
``positions.Sheet``.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Final

from lsprotocol import types as lsp
from pygls.lsp.server import LanguageServer

from .changes import add_changes
from .documents import Documents
from .judging import Judging
from .questions import add_questions
from .texts import add_texts
from .workspace import Terms

TURN: Final = 0.0005
"""s after which the thread of the rules gives way to that of the editor, so that no key waits for a rule."""


def make_server(terms: Callable[[str], Terms]) -> LanguageServer:
    """A server; it speaks when it is started. ``terms`` are those that a harness, by its file, is judged by."""
    from ... import __version__

    server = LanguageServer("loomwright", __version__, text_document_sync_kind=lsp.TextDocumentSyncKind.Full)
    documents = Documents(server, terms)
    judging = Judging(documents)
    add_texts(server, documents, judging)
    add_questions(server, documents)
    add_changes(server, documents, judging)
    return server


def serve(terms: Callable[[str], Terms]) -> None:
    """Speaks with one editor over standard input and output until it says goodbye."""
    sys.setswitchinterval(TURN)
    make_server(terms).start_io()
