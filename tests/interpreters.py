"""The whole suite on the oldest and the newest Python that is here: ``python tests/interpreters.py [PYTHON ...]``.

Without PYTHON looks at what is on the PATH and under ``~/.pyenv/versions``, takes those that the package says it runs
on, and of them the oldest and the newest. For each a copy of the sources gets a separate environment, made by
``make``, and runs the suite as CI does, nothing skipped. Exits 1 where a suite fails or where no interpreter is found.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
LEAVE = shutil.ignore_patterns(".venv", "__pycache__", "build", "dist", "out", "*.egg-info", ".*_cache", ".hypothesis")
VERSION = "import sys, ensurepip, venv; print('.'.join(map(str, sys.version_info[:3])))"


def least() -> tuple[int, ...]:
    stated = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["requires-python"]
    found = re.fullmatch(r">=(\d+(?:\.\d+)*)", stated)
    assert found, stated
    return tuple(map(int, found[1].split(".")))


def version(python: str) -> tuple[int, ...] | None:
    """The version of an interpreter that can make environments; ``None``: it cannot, or is none."""
    try:
        done = subprocess.run([python, "-c", VERSION], capture_output=True, text=True, check=False)
    except OSError:
        return None
    return tuple(map(int, done.stdout.strip().split("."))) if done.returncode == 0 else None


def interpreters() -> dict[tuple[int, ...], str]:
    """Those that the package says it runs on, by version."""
    named = [f"python3.{minor}" for minor in range(11, 20)]
    here = [path for name in ("python3", *named) if (path := shutil.which(name))]
    here += ["/usr/bin/python3", *map(str, sorted((Path.home() / ".pyenv" / "versions").glob("*/bin/python")))]
    found: dict[tuple[int, ...], str] = {}
    for python in here:
        its = version(python)
        if its is not None and its >= least():
            found.setdefault(its, python)
    return found


def suite(python: str) -> int:
    """The exit status of the suite of a copy of the sources, run by one interpreter."""
    with tempfile.TemporaryDirectory(prefix="loomwright-") as name:
        copy = Path(name) / "loomwright"
        shutil.copytree(ROOT, copy, ignore=LEAVE, symlinks=True)
        environment = {**os.environ, "LOOMWRIGHT_CI": "1"}
        environment.pop("VIRTUAL_ENV", None)
        return subprocess.run(["make", "test", f"PYTHON={python}"], cwd=copy, env=environment, check=False).returncode


def main() -> int:
    found = {its: python for python in sys.argv[1:] if (its := version(python)) is not None} or interpreters()
    if not found:
        print(f"no interpreter from {'.'.join(map(str, least()))} on that can make environments was found")
        return 1
    failed = 0
    for its in dict.fromkeys((min(found), max(found))):
        print(f"== Python {'.'.join(map(str, its))}: {found[its]}", flush=True)
        status = suite(found[its])
        failed += status != 0
        print(f"== Python {'.'.join(map(str, its))}: {'passed' if status == 0 else f'failed, exit status {status}'}")
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
