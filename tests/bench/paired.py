"""Whether a change cost speed: ``python tests/bench/paired.py [REVISION] [--times N]``, against 0.1.0 by default.

The old revision is exported to a temporary folder and compiled there. Old and new then take turns, in fresh processes,
so that a busy machine disturbs both alike; what is printed is the ratio new to old of processor time: median and
quartiles of the pairs. The works: ``check`` of both demonstrations from cold, of a harness of some 1,000 wires, and
every single fault of the demonstrations (the sweep).
"""

from __future__ import annotations

import argparse
import io
import os
import resource
import statistics
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

from grown import grown

ROOT = Path(__file__).resolve().parents[2]
FIRST = "caaf75a"  # version 0.1.0
COMMAND = """
import loomwright, sys
assert loomwright.__file__.startswith({folder!r}), loomwright.__file__
sys.modules['interegular'] = None  # users do not have it
from loomwright.cli import main
main({arguments!r})
"""


def exported(revision: str, folder: Path) -> Path:
    """The package of a revision in a separate folder, compiled."""
    git = ["git", "-C", str(ROOT), "archive", revision]
    data = subprocess.run(git, capture_output=True, check=True).stdout
    target = folder / "loomwright"
    with tarfile.open(fileobj=io.BytesIO(data)) as archive:
        safely = {"filter": "data"} if hasattr(tarfile, "data_filter") else {}
        archive.extractall(target, **safely)
    subprocess.run(
        [sys.executable, "-m", "compileall", "-q", *(str(target / each) for each in ("checks", "lang", "render"))],
        check=True,
    )
    return folder


def seconds(folder: Path, arguments: list[str]) -> float:
    """Processor time of one command in a fresh process with the package of a folder."""
    code = f"import sys; sys.path.insert(0, {str(folder)!r})\n" + COMMAND.format(
        folder=str(folder), arguments=arguments
    )
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=folder, env=environment()
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode not in (0, 1) or "Traceback" in done.stderr:
        raise SystemExit(f"{arguments}: exit status {done.returncode}\n{done.stderr}")
    return (after.ru_utime + after.ru_stime) - (before.ru_utime + before.ru_stime)


def environment() -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {**kept, "PYTHONHASHSEED": "1", "OPENBLAS_NUM_THREADS": "1"}


def works(folder: Path) -> dict[str, list[str]]:
    """What is timed, by name: the same files for old and new, the demonstrations as the old revision has them."""
    large = folder / "large.loom"
    large.write_text(grown(1000), encoding="utf-8")
    specs = folder / "old" / "loomwright" / "specs"
    return {
        "check stock": ["check", str(specs / "stock.loom")],
        "check rebuild": ["check", str(specs / "rebuild.loom")],
        "check 1,000 wires": ["check", str(large)],
        "faults stock": ["faults", str(specs / "stock.loom")],
        "faults rebuild": ["faults", str(specs / "rebuild.loom")],
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("revision", nargs="?", default=FIRST)
    parser.add_argument("--new", default="", help="a revision to time in place of the files as they are")
    parser.add_argument("--times", type=int, default=10)
    parser.add_argument("--only", default="", help="works whose name has this in it")
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="loomwright-paired-") as name:
        folder = Path(name)
        old = exported(arguments.revision, folder / "old")
        if arguments.new:
            new = exported(arguments.new, folder / "new")
        else:
            new = folder / "new"
            new.mkdir()
            (new / "loomwright").symlink_to(ROOT)
        print(f"processor time, {arguments.new or 'these files'} to {arguments.revision}, {arguments.times} pairs")
        for work, command in works(folder).items():
            if arguments.only not in work:
                continue
            seconds(old, command), seconds(new, command)  # what the first run compiles is not counted
            pairs = [(seconds(old, command), seconds(new, command)) for _ in range(arguments.times)]
            ratios = [after / before for before, after in pairs]
            low, middle, high = statistics.quantiles(ratios, n=4) if len(ratios) > 1 else ratios * 3
            was, now = (statistics.median(pair[i] for pair in pairs) for i in (0, 1))
            print(f"  {work:20} {middle:5.2f} ({low:.2f} to {high:.2f})   {was:6.2f} s -> {now:6.2f} s", flush=True)


if __name__ == "__main__":
    main()
