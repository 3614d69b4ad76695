"""What is found in each harness of an editor, and telling it: mistakes at once, findings when the typing pauses."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Final

from lsprotocol import types as lsp

from ...lang.files.reading import UnreadableError
from .diagnostics import Problem, by_file, of_causes, of_fault, of_mistakes, of_report, of_terms
from .documents import Documents
from .workspace import CannotJudgeError, GivenUpError, Understood, path_of

SETTLE: Final = 0.002
"""s after a change until it is read: what an editor sends in one go is read once."""

PAUSE: Final = 0.01
"""s without a change until the rules are asked."""


class Judging:
    """What was found in each harness, and what the editor was told of it."""

    def __init__(self, documents: Documents) -> None:
        self.documents = documents
        self._known: dict[str, Understood] = {}
        self._found: dict[str, tuple[Problem, ...]] = {}
        self._judging: dict[str, tuple[Understood, asyncio.Task[tuple[Problem, ...] | None]]] = {}
        self._second: dict[str, tuple[Understood, tuple[Problem, ...]]] = {}
        self._searching: dict[str, Understood] = {}
        self._waiting: set[asyncio.Task[None]] = set()
        self._told: set[str] = set()
        self._timers: dict[str, asyncio.TimerHandle] = {}

    @property
    def pulls(self) -> bool:
        """Whether the editor asks for what is found, and is not to be told."""
        document = self.documents.server.client_capabilities.text_document
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
        roots = self.documents.workspace.roots()
        tell = set(self._known) - set(roots)
        for gone in sorted(tell):
            self._known.pop(gone).give_up()
            for kept in (self._found, self._judging, self._second, self._searching):
                kept.pop(gone, None)
        for root in roots:
            try:
                known = self.documents.workspace.understood(root)
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
            report = await self.documents.ask(known.searched)
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
        workspace = self.documents.server.client_capabilities.workspace
        can = workspace is not None and workspace.diagnostics is not None and workspace.diagnostics.refresh_support
        if await self._searched(known) is not None and can and self._searching.get(known.root) is known:
            self.documents.server.workspace_diagnostic_refresh(None)

    def judgement(self, known: Understood) -> asyncio.Task[tuple[Problem, ...] | None]:
        """What the rules find in a harness without mistakes, asked once; ``None`` where its text changed meanwhile."""
        running = self._judging.get(known.root)
        if running is None or running[0] is not known:
            running = self._judging[known.root] = (known, asyncio.ensure_future(self._judged(known)))
        return running[1]

    async def _judged(self, known: Understood) -> tuple[Problem, ...] | None:
        try:
            return of_report(await self.documents.ask(known.report))
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
            uri = self.documents.uri(file)
            problems = found.get(file, [])
            if problems or uri in self._told or path_of(file) in self.documents.workspace.open:
                self._publish(uri, self.documents.diagnostics(problems))
            if problems:
                told.add(uri)
        for uri in sorted(self._told - told - {self.documents.uri(file) for file in files}):
            self._publish(uri, [])
        self._told = told

    def _publish(self, uri: str, diagnostics: list[lsp.Diagnostic]) -> None:
        document = self.documents.server.workspace.text_documents.get(uri)
        version = document.version if document is not None else None
        self.documents.server.text_document_publish_diagnostics(lsp.PublishDiagnosticsParams(uri, diagnostics, version))


def _at_once(known: Understood) -> tuple[Problem, ...]:
    """What there is to say without asking the rules."""
    if known.surveyed is not None:
        return known.surveyed.problems(known.reading)
    return of_terms(known.reading, known.unjudged) if known.unjudged else of_mistakes(known.reading)
