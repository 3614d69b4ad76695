"""What a check finds in the new harness and not in the old one, and the other way round."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Final, Literal, get_args

from ...lang.records import dataclass
from .matching import wire_pairs

if TYPE_CHECKING:
    from ..findings.finding import Finding
    from .matching import Match

Kind = Literal["new", "more severe", "less severe", "settled"]
KINDS: Final[tuple[Kind, ...]] = get_args(Kind)


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingChange:
    """A finding that only one harness has, or that has another level.

    ``level``, ``message``, ``file`` and ``line`` are the new harness's, of what is settled the old one's; ``before`` is
    the old level where it is another one.
    """

    kind: Kind
    level: str
    before: str
    rule: str
    message: str
    file: str
    line: int
    about: tuple[str, ...]


def finding_changes(match: Match, old: Iterable[Finding], new: Iterable[Finding]) -> tuple[FindingChange, ...]:
    """How findings differ, by kind, each kind in the order of the findings.

    A finding is known again by its rule, its state, and by the parts and wires that it is about, by their old names.
    """
    names = _old_names(match)
    olds = list(_each(old))
    left: dict[_Key, list[int]] = {}
    for i, each in enumerate(olds):
        left.setdefault(_key(each, {}), []).append(i)
    found: dict[Kind, list[FindingChange]] = {kind: [] for kind in KINDS}
    for each in _each(new):
        same = left.get(_key(each, names))
        if not same:
            found["new"].append(_change("new", each))
        elif (was := olds[same.pop(0)]).level != each.level:
            kind: Kind = "more severe" if each.level > was.level else "less severe"
            found[kind].append(_change(kind, each, was.level.word))
    found["settled"] = [_change("settled", olds[i]) for i in sorted(i for places in left.values() for i in places)]
    return tuple(change for kind in KINDS for change in found[kind])


_Key = tuple[str, str, tuple[str, ...]]


def _each(found: Iterable[Finding]) -> Iterator[Finding]:
    """Findings one by one, those of a group too."""
    for finding in found:
        yield from finding.members or (finding,)


def _key(finding: Finding, names: dict[str, str]) -> _Key:
    return finding.rule, finding.state, tuple(sorted(names.get(each, each) for each in finding.about))


def _old_names(match: Match) -> dict[str, str]:
    """The old names of parts, of wires and of their pieces."""
    pairs = wire_pairs(match)
    pieces = {
        piece.name: before.name
        for now, was in pairs.items()
        for piece, before in zip(match.new.wires[now].segments, match.old.wires[was].segments, strict=False)
    }
    return {**match.old_of, **pieces, **pairs}


def _change(kind: Kind, finding: Finding, before: str = "") -> FindingChange:
    return FindingChange(
        kind=kind,
        level=finding.level.word,
        before=before,
        rule=finding.rule,
        message=finding.message,
        file=finding.span.file,
        line=finding.span.line,
        about=finding.about,
    )
