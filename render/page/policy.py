"""What a page lets the browser take: Content Security Policy Level 3."""

from __future__ import annotations

import base64
import hashlib


def allowed(text: str) -> str:
    """The source expression for one inline text and no other."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode('ascii')}'"
