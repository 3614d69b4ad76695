"""The desk: texts that are open in the editor, files on the disk, and what was read of them.

An open text counts before the file on the disk, in files that others use too. A file that some harness uses is read as
a part of that harness, since its names mean nothing alone.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import field, replace
from functools import cached_property
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING, Any, Final

from ...checks.causes import with_likely_cause
from ...checks.kept import Kept
from ...checks.runner.policy import mistakes as house_mistakes
from ...checks.runner.run import RuleStudy, check_examined, old_mistakes
from ...lang.files.folders import ENDING
from ...lang.files.reading import LIBRARY, UnreadableError, library_names, load_text, read_text
from ...lang.model.harness import Harness, Reading
from ...lang.records import dataclass
from ...lang.resolve.remembered import Remembered
from ...lang.search.walks import closure
from ...lang.survey.reading import read_survey
from ...lang.survey.record import SurveyReading
from ...lang.survey.words import is_survey
from ...lang.syntax.parser import Memory, parse
from ...lang.syntax.tree import Syntax
from .occurrences import Occurrence, mentions

if TYPE_CHECKING:
    from datetime import date

    from ...checks.runner.run import Report
    from ...lang.diagnostics.messages import Diagnostics
    from .survey import SurveyInEditor

_TITLE: Final = re.compile(r"^\ufeff?[ \t]*loom(?:[ \t]|\")", re.MULTILINE)
_USED: Final = re.compile(r'^[ \t]*use[ \t]+"([^"\n]+)"', re.MULTILINE)

_Stamp = tuple[object, ...]


class GivenUpError(Exception):
    """The text has changed, so that nobody waits for this examination any more."""


class CannotJudgeError(Exception):
    """The terms to judge a harness by cannot be had; ``str()`` says why."""


def _as_it_is(report: Report) -> Report:
    return report


@dataclass(frozen=True, slots=True)
class Terms:
    """How a harness is judged: what its ``Study`` gets besides the harness and the day, and what becomes of
    its report where findings are accepted. Both may come from a folder's settings.
    """

    told: Mapping[str, Any] = field(default_factory=dict)
    accepted: Callable[[Report], Report] = _as_it_is


@dataclass(frozen=True)
class Understood:
    """A harness as it was read: the file that is checked comes first in ``syntaxes``, by its name in messages.

    ``study`` may be asked where it is ``sound``, by one thread only. ``stamps`` tell which texts it was
    read from. ``unjudged`` says why there are no terms to judge it by. ``survey``: the file is a survey; ``reading``
    then has its mistakes and an empty harness.
    """

    root: str
    reading: Reading
    syntaxes: dict[str, Syntax]
    study: RuleStudy
    stamps: dict[str, _Stamp]
    terms: Terms
    unjudged: str
    given_up: Event
    survey: SurveyReading | None = None

    @property
    def harness(self) -> Harness:
        return self.reading.harness

    @property
    def sound(self) -> bool:
        """Whether the text has no mistakes, so that questions about behaviour have answers."""
        return not (self.reading.mistakes or self.unjudged or self.survey)

    def report(self) -> Report:
        """What the rules find. Raises ``GivenUpError`` where a text changed meanwhile."""
        return self.terms.accepted(check_examined(self.reading, self.study))

    def searched(self) -> Report:
        """The report with what a search for a likely cause gave: a second answer, after the rules'. Raises
        ``GivenUpError`` where a text changed meanwhile.
        """
        kept = self.study
        return with_likely_cause(self.report(), kept.today, between_rules=kept.between_rules, **self.terms.told)

    @cached_property
    def surveyed(self) -> SurveyInEditor | None:
        """The survey, where the file is one."""
        from .survey import SurveyInEditor

        return None if self.survey is None else SurveyInEditor(self.survey, self.survey.texts[self.root])

    @cached_property
    def mentions(self) -> dict[str, tuple[Occurrence, ...]]:
        """Every name of each file, by the file's name."""
        return {file: mentions(syntax, self.harness) for file, syntax in self.syntaxes.items()}

    @property
    def all_mentions(self) -> Iterator[Occurrence]:
        for found in self.mentions.values():
            yield from found

    def file_of(self, path: str) -> str | None:
        """The name in messages of a file that was read."""
        real = os.path.realpath(path)
        by_name = (file for file in self.syntaxes if path_of(file) == path)
        return next(by_name, None) or next((f for f in self.syntaxes if os.path.realpath(path_of(f)) == real), None)

    def give_up(self) -> None:
        """Stops what examines it, at the next rule."""
        self.given_up.set()


def path_of(file: str) -> str:
    """Where a file of a reading is, by its name in messages."""
    folder, _, name = file.rpartition("/")
    if folder == "library" and name.removesuffix(".loom") in library_names():
        return os.fspath(LIBRARY / name)
    return file


def in_library(file: str) -> bool:
    """Whether a file comes with the tool, so that nobody may change it."""
    return path_of(file) != file


class Workspace:
    """Open texts by path, and readings, each made again only when a text that it is made from has changed."""

    def __init__(
        self,
        today: Callable[[], date],
        terms: Callable[[str], Terms] = lambda _root: Terms(),
        between_rules: Callable[[], None] = lambda: None,
    ) -> None:
        """``between_rules`` is called before each rule of an examination."""
        self.open: dict[str, str] = {}
        self.folders: tuple[str, ...] = ()
        self._today = today
        self._between_rules = between_rules
        self._terms = terms
        self._changes: dict[str, int] = {}
        self._understood: dict[str, Understood] = {}
        self._memories: dict[str, Memory] = {}
        self._remembered = Remembered()
        self._kept: dict[str, Kept] = {}
        self._users: dict[str, tuple[str, ...]] = {}

    # --- texts
    def put(self, path: str, text: str) -> None:
        """A text was opened or changed."""
        if _ties(self.open.get(path, "")) != _ties(text):
            self._users.clear()
        self.open[path] = text
        self._touch(path)

    def take(self, path: str) -> None:
        """A text was closed: what the disk has counts again."""
        self.open.pop(path, None)
        self._touch(path)
        self._users.clear()
        self._forget()

    def _forget(self) -> None:
        """Forgets what was read for texts that are not open any more."""
        kept = {root: known for root, known in self._understood.items() if root in self.roots()}
        read = {path_of(file) for known in kept.values() for file in known.syntaxes}
        self._understood = kept
        self._kept = {root: analyses for root, analyses in self._kept.items() if root in kept}
        self._memories = {path: memory for path, memory in self._memories.items() if path in read}

    def _touch(self, path: str) -> None:
        """What was read of a text is old now, and nobody waits for what the rules say of it."""
        self._changes[path] = self._changes.get(path, 0) + 1
        for known in self._understood.values():
            if path in known.stamps or os.path.realpath(path) in known.stamps:
                known.give_up()

    def disk_changed(self) -> None:
        """Files came, went or changed: which one uses which is asked again."""
        self._users.clear()

    def text(self, path: str) -> str:
        """A text as it is open, or as the disk has it. Raises ``OSError``."""
        real = os.path.realpath(path)
        for name in (path, real):
            if name in self.open:
                return self.open[name]
        for name, text in self.open.items():
            if os.path.realpath(name) == real:
                return text
        return load_text(Path(path))

    def _stamp(self, path: str) -> _Stamp:
        """What changes when the text of a file does."""
        real = os.path.realpath(path)
        for name in self.open:
            if name == path or os.path.realpath(name) == real:
                return ("open", name, self._changes[name])
        try:
            found = Path(path).stat()
        except (OSError, ValueError):
            return ("missing",)
        return ("disk", found.st_mtime_ns, found.st_size, found.st_ino)

    # --- readings
    def understood(self, root: str) -> Understood:
        """What a harness says, as its texts are now. Raises ``UnreadableError``."""
        known = self._understood.get(root)
        if known is not None and all(self._stamp(path) == stamp for path, stamp in known.stamps.items()):
            return known
        if known is not None:
            known.give_up()
        self._understood[root] = new = self._understand(root)
        return new

    def _understand(self, root: str) -> Understood:
        stamps = {root: self._stamp(root)}
        syntaxes: dict[str, Syntax] = {}

        def load(path: Path) -> str:
            stamps[os.fspath(path)] = self._stamp(os.fspath(path))
            return self.text(os.fspath(path))

        def parsed(text: str, file: str, mistakes: Diagnostics) -> Syntax:
            syntaxes[file] = parse(text, file, mistakes, self._memories.setdefault(path_of(file), Memory()))
            return syntaxes[file]

        try:
            text = self.text(root)
        except (OSError, ValueError) as error:
            raise UnreadableError(f"{root}: {error}") from error
        if is_survey(text):
            return self._understand_survey(root, text, stamps, load)
        reading = read_text(text, root, load=load, parsed=parsed, resolved=self._remembered.resolve)
        given_up = Event()

        def go_on() -> None:
            if given_up.is_set():
                raise GivenUpError
            self._between_rules()

        terms, unjudged = Terms(), ""
        try:
            terms = self._terms(root)
        except CannotJudgeError as error:
            unjudged = str(error)
        study = RuleStudy(
            reading.harness,
            today=self._today(),
            between_rules=go_on,
            old=reading.old,
            kept=self._kept.setdefault(root, Kept()),
            **terms.told,
        )
        if not reading.mistakes:
            found = house_mistakes(reading.harness, study.rules, all_known=study.unrun is None) or old_mistakes(study)
            reading = replace(reading, mistakes=found)
        return Understood(root, reading, syntaxes, study, stamps, terms, unjudged, given_up)

    def _understand_survey(
        self, root: str, text: str, stamps: dict[str, _Stamp], load: Callable[[Path], str]
    ) -> Understood:
        """A survey: its diagram is read again only where that has changed, since every key changes the survey."""
        before = self._understood.get(root)
        diagram = None
        if before is not None and before.survey is not None:
            others = {path: stamp for path, stamp in before.stamps.items() if path != root}
            if all(self._stamp(path) == stamp for path, stamp in others.items()):
                diagram, stamps = before.survey.diagram, stamps | others
        survey = read_survey(text, root, load=load, diagram=diagram)
        harness = Harness(file=root)
        reading = Reading(harness=harness, mistakes=survey.mistakes, texts={root: text})
        study = RuleStudy(harness, today=self._today())
        return Understood(root, reading, {root: Syntax(root, "", (), ())}, study, stamps, Terms(), "", Event(), survey)

    def reread(self, root: str, texts: Mapping[str, str]) -> Reading:
        """What a harness would say with other texts in place of some of its files, by their names in messages."""
        changed = {os.path.realpath(path_of(file)): text for file, text in texts.items()}

        def load(path: Path) -> str:
            return changed.get(os.fspath(path)) or self.text(os.fspath(path))

        return read_text(load(Path(os.path.realpath(root))), root, load=load)

    def old_names(self, knowns: Iterable[Understood]) -> frozenset[str]:
        """The parts and wires of the harnesses that these ones convert."""
        found: set[str] = set()
        for known in knowns:
            conversion = known.harness.conversion
            if conversion.converts is not None and conversion.span is not None:
                try:
                    path = Path(path_of(conversion.span.file)).parent / conversion.converts
                    old = read_text(self.text(os.fspath(path)), os.fspath(path), load=lambda p: self.text(os.fspath(p)))
                except (OSError, ValueError):
                    continue
                found |= {*old.harness.parts, *old.harness.wires}
        return frozenset(found)

    # --- which file is a part of which
    def roots(self) -> tuple[str, ...]:
        """The harnesses that the open texts are, or are parts of, sorted."""
        return tuple(sorted({root for path in self.open for root in self.roots_of(path)}))

    def roots_of(self, path: str) -> tuple[str, ...]:
        """The harnesses that a file belongs to: itself where it has a title or nothing uses it."""
        try:
            titled = _TITLE.search(self.text(path)) is not None
        except (OSError, ValueError):
            titled = True
        return (path,) if titled else self._using(path) or (path,)

    def _using(self, path: str) -> tuple[str, ...]:
        """The titled harnesses beside a file, above it or open, that use it, directly or through others."""
        if path not in self._users:
            titled = [user for user in self._near(path) if self._is_titled(user)]
            self._users[path] = tuple(sorted(user for user in titled if os.path.realpath(path) in self._used_by(user)))
        return self._users[path]

    def _near(self, path: str) -> Iterable[str]:
        """Harness files from which a ``use`` line could reach a file: only what is above it can."""
        folder = Path(path).parent
        tops = [Path(top) for top in self.folders if folder.is_relative_to(top)]
        above = [folder, *(up for up in folder.parents if any(up.is_relative_to(top) for top in tops))]
        found = {name for each in above for name in _files_in(os.fspath(each))} | set(self.open)
        return sorted(found - {path})

    def _is_titled(self, path: str) -> bool:
        try:
            return _TITLE.search(self.text(path)) is not None
        except (OSError, ValueError):
            return False

    def _used_by(self, path: str) -> set[str]:
        """The real paths of all that a file uses."""

        def uses(user: str) -> list[str]:
            try:
                written = _USED.findall(self.text(user))
            except (OSError, ValueError):
                return []
            return [os.path.realpath(Path(user).parent / each) for each in written]

        return closure(uses(path), uses)


def _ties(text: str) -> tuple[bool, list[str]]:
    """What ties a text to others: whether it is a separate harness, and what it uses."""
    return _TITLE.search(text) is not None, _USED.findall(text)


def _files_in(folder: str) -> list[str]:
    """The harness files that lie in a folder itself."""
    return [os.fspath(path) for path in Path(folder).glob(f"*{ENDING}")]
