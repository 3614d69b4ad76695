"""Golden files: drawings that somebody has looked at.

After a change that is meant, run the test with ``LOOMWRIGHT_GOLDEN=write``, look at what it wrote, and commit it.
"""

from __future__ import annotations

import os
from pathlib import Path

GOLDEN = Path(__file__).parent / "render" / "golden"


def same_as_golden(name: str, text: str) -> None:
    """Compare ``text`` with the golden file of that name, or write it where that is asked for."""
    path = GOLDEN / name
    if os.environ.get("LOOMWRIGHT_GOLDEN") == "write":
        path.write_text(text, encoding="utf-8", newline="\n")
    assert path.read_text(encoding="utf-8") == text, f"{path.name} is not as it was looked at"
