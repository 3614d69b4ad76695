"""Putting a new text in the place of an old file, whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import tempfile
from pathlib import Path


class ChangedError(OSError):
    """The file is no longer what it was when it was read: somebody else writes it too."""

    def __init__(self, path: Path) -> None:
        super().__init__(errno.EBUSY, "it was changed by somebody else in the meantime", str(path))


def replace_file(path: Path, data: bytes, *, was: bytes | None = None) -> None:
    """``data`` takes the place of what ``path`` holds, in one step; until then the old file stands whole.

    Where ``path`` is a symbolic link, the file that it leads to is replaced and the link stays; one that leads out of
    its own folder is refused, since a repository may hold a link to any file of whoever checks it. Mode and, where that
    is allowed, owner stay. ``was`` is what was read of it. Raises ``OSError`` (``ChangedError`` where ``was`` is not
    there any more); a file that may not be written is not replaced although its folder would allow it.
    """
    target = Path(os.path.realpath(path))
    if path.is_symlink() and not target.is_relative_to(os.path.realpath(path.parent)):
        raise OSError(errno.EPERM, f"it is a link to {target}, outside its folder: name that file itself", str(path))
    old = target.stat() if target.exists() else None
    if old is not None and not stat.S_ISREG(old.st_mode):
        raise OSError(errno.EINVAL, "this is no file that can be replaced", str(path))
    if old is not None and not os.access(target, os.W_OK):
        raise PermissionError(errno.EACCES, "permission to write it is missing", str(path))
    number, name = tempfile.mkstemp(prefix=f".{target.name[:100]}.", suffix=".loomwright-new", dir=target.parent)
    try:
        with os.fdopen(number, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        _dress(name, old)
        if was is not None and target.read_bytes() != was:
            raise ChangedError(path)
        os.replace(name, target)  # noqa: PTH105  its name alone is at hand
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)  # noqa: PTH108
        raise
    _settle(target.parent)


def _dress(name: str, old: os.stat_result | None) -> None:
    """Mode and owner of the old file; of a new one, what the umask leaves."""
    if old is None:
        umask = os.umask(0)
        os.umask(umask)
        os.chmod(name, 0o666 & ~umask)  # noqa: PTH101
        return
    if hasattr(os, "chown"):
        with contextlib.suppress(PermissionError):
            os.chown(name, old.st_uid, old.st_gid)
    os.chmod(name, stat.S_IMODE(old.st_mode))  # noqa: PTH101


def _settle(folder: Path) -> None:
    """The new name is on the disk, where a folder can be asked for that at all."""
    with contextlib.suppress(OSError):
        number = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(number)
        finally:
            os.close(number)
