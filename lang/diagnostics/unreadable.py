"""Why a file cannot be read, in words."""

from __future__ import annotations


def why_unreadable(error: OSError | ValueError) -> str:
    """The reason that the system gave, as a clause."""
    if isinstance(error, FileNotFoundError):
        return "there is no such file"
    if isinstance(error, IsADirectoryError):
        return "this is a folder, not a file"
    if isinstance(error, PermissionError):
        return "permission to read it is missing"
    return (getattr(error, "strerror", None) or "it cannot be read").lower()
