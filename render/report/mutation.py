"""Which single faults a harness's own checks and expectations would not notice: as text and as JSON."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from ...checks.proof.faults import SIZES_ONLY
from ...lang.diagnostics.visible import visible
from ...lang.quantities.quantity import Quantity, shown
from ..formats.figures import rounded

if TYPE_CHECKING:
    from ...checks.proof.mutation import Score, Survivor


def mutation_text(score: Score, file: str, *, every: bool = False) -> str:
    """The score, then what nothing notices, the worst first, each with the line that would; ends in a line feed.

    ``every``: also the faults that no line could notice.
    """
    return "".join(f"{visible(line)}\n" for line in _lines(score, file, every=every))


def _lines(score: Score, file: str, *, every: bool) -> Iterator[str]:
    noticed, can = len(score.noticed), len(score.noticed) + len(score.missed)
    if not score.faults:
        yield f"{file}: there is nothing to put a fault into"
        return
    yield f"{file}: the check notices {noticed} of {can} single faults that it could ({share_words(score)})"
    if score.missed:
        yield ""
        yield "Not noticed, the worst first, with the line that would notice it:"
        for survivor in score.missed:
            yield ""
            yield from _told(survivor)
            yield f"      {survivor.line}"
    yield ""
    if score.beyond:
        count = len(score.beyond)
        one = count == 1
        yield (
            f"{count} more fault{'' if one else 's'} of {score.faults} no line could notice"
            + ("" if every else "; --all lists them and why")
        )
        if every:
            yield from _beyond(score)
    if score.noticed:
        rules = Counter(each.rule for each in score.noticed)
        first = sorted(rules.items(), key=lambda each: (-each[1], each[0]))
        yield f"noticed first by: {', '.join(f'{rule} {count}' for rule, count in first)}"


def _beyond(score: Score) -> Iterator[str]:
    """The faults that no line could notice, by the reason."""
    by_reason: dict[str, list[Survivor]] = {}
    for survivor in score.beyond:
        by_reason.setdefault(why(survivor), []).append(survivor)
    for reason, alike in by_reason.items():
        yield ""
        yield f"  {reason}:"
        yield from (f"      {each.fault.span.file}:{each.fault.span.line}: {each.fault.says}" for each in alike)
    yield ""


def _told(survivor: Survivor) -> Iterator[str]:
    span = survivor.fault.span
    yield f"  {span.file}:{span.line}: {survivor.fault.says}"
    yield f"      {why(survivor)}"


def why(survivor: Survivor) -> str:
    """What differs with a fault; where nothing does, why nothing can notice it."""
    if survivor.differs is not None:
        return survivor.differs.says
    if survivor.fault.kind in SIZES_ONLY:
        return "still within every limit that was judged"
    return (
        "the same things are live in every combination, with the same voltage in every named state; "
        "what a winding or a pick-up delivers is not calculated"
    )


def share_words(score: Score) -> str:
    """``98.7 %``, never rounded up to all."""
    return shown(Quantity(int(score.share * 1000) / 10, "%"))


def mutation_json(score: Score, file: str, seed: int | None) -> str:
    """The same as JSON, described by ``mutation.schema.json``. ``seed`` is that of a sample, ``None`` without one."""
    found = {
        "version": 1,
        "file": file,
        "seed": seed,
        "faults": score.faults,
        "noticed": len(score.noticed),
        "share": rounded(score.share),
        "missed": [_entry(each) for each in score.missed],
        "beyond": [_entry(each) for each in score.beyond],
        "by": [
            {"kind": each.fault.kind, "fault": each.fault.says, "rule": each.rule, "message": each.message}
            for each in score.noticed
        ],
    }
    return json.dumps(found, indent=2, ensure_ascii=False) + "\n"


def _entry(survivor: Survivor) -> dict[str, Any]:
    fault = survivor.fault
    return {
        "kind": fault.kind,
        "fault": fault.says,
        "touches": list(fault.touches),
        "file": fault.span.file,
        "line": fault.span.line,
        "why": why(survivor),
        "severity": survivor.differs.severity if survivor.differs else None,
        "expect": survivor.line or None,
    }
