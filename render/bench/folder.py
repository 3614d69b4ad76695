"""All that the bench needs of one harness, as files by their names: lists, labels, drawings, the proof.

Everything is made before anything is written, so that a folder never holds half of one version and half of another.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from ...lang.records import dataclass

if TYPE_CHECKING:
    from ...lang.model.harness import Harness


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """``files`` by their names; ``notes`` are what a person has to know of them; ``lacking``: why none was made."""

    files: dict[str, bytes]
    notes: tuple[str, ...] = ()
    lacking: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A sheet to make: ``name`` says what it is."""

    name: str
    make: Callable[[], Made]


def jobs(harness: Harness, stem: str, *, paper: str = "A4", revision: str = "") -> Iterator[Job]:
    """The sheets in the order of the work: buy, cut, lay, label, fit, prove, hand over."""
    title = harness.title or stem

    def text(words: str) -> bytes:
        return words.encode("utf-8", "backslashreplace")

    def buying() -> Made:
        from ...checks.bench.purchase import purchase, restripes, with_shelf
        from . import buy_list

        lines = with_shelf(purchase(harness, bench.looms), {}, {})
        new = [piece for loom in bench.looms for piece in loom.pieces]
        notes = buy_list.notes_of((), restripes(new), (), bench.owed(("length", "size", "colour", "ends", "cover")))
        pdf = buy_list.buy_pdf(title, lines, (), notes, paper, revision)
        return Made(files={f"{stem}-buy.pdf": pdf, f"{stem}-buy.csv": text(buy_list.buy_csv(lines))})

    def cutting() -> Made:
        from . import cut_list

        lacking = bench.owed(("length", "size", "colour", "ends"))
        files = {
            f"{stem}-{name}.pdf": cut_list.cut_pdf(
                title, bench.looms, lacking, order=order, paper=paper, revision=revision
            )
            for name, order in (("cut", "spool"), ("lay", "loom"))
        }
        csv = text(cut_list.cut_csv(bench.looms, order="spool"))
        return Made(files={**files, f"{stem}-cut.csv": csv}, notes=tuple(lacking))

    def labelling() -> Made:
        from ...checks.bench.labels import labels
        from . import label_sheet

        found = labels(harness, bench.looms)
        sheet = label_sheet.LabelSheet(paper=paper)
        over = label_sheet.left_out(found, sheet, "wrap")
        files = {
            f"{stem}-labels.pdf": label_sheet.labels_pdf(title, found, sheet, "wrap"),
            f"{stem}-labels.csv": text(label_sheet.labels_csv(found)),
        }
        return Made(files=files, notes=tuple(f"the label of {each.sort} {each.of} does not fit" for each in over))

    def pinouts() -> Made:
        from .pinout_sheet import NothingToDraw, pinout_files

        try:
            return Made(files=pinout_files(harness, stem, paper=_drawn(paper), revision=revision))
        except NothingToDraw as error:
            return Made(files={}, lacking=str(error))

    def layout() -> Made:
        from ...checks.bench.tree import CannotLayError
        from .layout_sheet import layout_files

        try:
            return Made(files=layout_files(harness, stem, paper=_drawn(paper), revision=revision))
        except CannotLayError as error:
            return Made(files={}, lacking=str(error))

    def proving() -> Made:
        from ...checks.bench.proving.plan import Proof
        from . import prove_sheet

        proof = Proof(harness)
        files = {
            f"{stem}-proof.pdf": prove_sheet.prove_pdf(title, proof, paper=paper, revision=revision),
            f"{stem}-proof.csv": text(prove_sheet.prove_csv(proof)),
        }
        return Made(files=files)

    def handing_over() -> Made:
        from .owner_sheet import owner_files

        return Made(files=owner_files(harness, stem, paper=_drawn(paper), revision=revision))

    bench = _Bench(harness)
    yield Job(name="buying list", make=buying)
    yield Job(name="cut list", make=cutting)
    yield Job(name="labels", make=labelling)
    yield Job(name="layout", make=layout)
    yield Job(name="pin-outs", make=pinouts)
    yield Job(name="proof", make=proving)
    yield Job(name="for the next owner", make=handing_over)


def _drawn(paper: str) -> str:
    """Drawings come on ISO paper alone."""
    return paper if paper in ("A3", "A4") else "A4"


class _Bench:
    """The looms of a harness, and what its text owes."""

    def __init__(self, harness: Harness) -> None:
        from ...checks.bench.looms import looms
        from ...checks.bench.pieces import pieces

        self._harness = harness
        self._pieces = pieces(harness)
        self.looms = looms(harness, self._pieces)

    def owed(self, wanted: tuple[str, ...]) -> list[str]:
        from ...checks.bench.pieces import owed
        from .owed import owed_lines

        return owed_lines(self._harness, self._pieces, owed(self._harness, self._pieces), wanted)
