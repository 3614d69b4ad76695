"""Fingerprints: by what a finding is known again after its lines have moved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.files.uri import uri

if TYPE_CHECKING:
    from pathlib import Path

    from .finding import Finding


class Fingerprints:
    """The fingerprints of what is found in one run, in the order in which it is shown: twins are counted.

    A fingerprint is made of rule, file and the things concerned, never of a line or of words: 32 hexadecimal digits.
    Names of files are taken as seen from ``folder``; from this one where it is ``None``.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder
        self._seen: dict[str, int] = {}

    def of(self, rule: str, file: str, *about: str) -> str:
        """That of something in a file; asked again for the same, that of its twin."""
        import hashlib

        basis = "\x00".join((rule, uri(file, self._folder), *about))
        count = self._seen[basis] = self._seen.get(basis, 0) + 1
        return hashlib.sha256(f"{basis}\x00{count}".encode("utf-8", "surrogatepass")).hexdigest()[:32]

    def of_finding(self, finding: Finding) -> str:
        """That of a finding: the order of the things it is about is of no account."""
        return self.of(finding.rule, finding.span.file, *sorted(finding.about), finding.state)
