"""The Graphviz engines: ``dot`` where it is on the PATH, else the one that comes as a Python package.

Only ranks, order and places are asked of them; what is drawn is the project's own, so that pictures have the same
elements with either.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sysconfig
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Literal

from ...lang.records import dataclass

if TYPE_CHECKING:
    from graphviz import Digraph

EngineName = Literal["dot", "graphviz-pure"]


class NoEngine(RuntimeError):  # noqa: N818 (says what is wrong, as a user reads it)
    """There is nothing here that can lay a drawing out, or what there is failed."""


@dataclass(frozen=True, slots=True)
class Engine:
    name: EngineName
    path: str


def find_engine(name: EngineName | None = None, environment: Mapping[str, str] = os.environ) -> Engine:
    """The engine asked for, or the first that is there: ``dot``, then ``graphviz-pure``.

    The second is looked for in the scripts folder of this Python first, since tools installed apart are not on the
    PATH. Raises :class:`NoEngine` and says what to install.
    """
    path = environment.get("PATH", os.defpath)
    if name in (None, "dot") and (found := shutil.which("dot", path=path)):
        return Engine("dot", found)
    if name in (None, "graphviz-pure"):
        scripts = sysconfig.get_path("scripts")
        found = shutil.which("graphviz-pure", path=scripts) or shutil.which("graphviz-pure", path=path)
        if found:
            return Engine("graphviz-pure", found)
    wanted = name or "dot"
    raise NoEngine(
        f"drawing needs Graphviz, and {wanted} was not found: install Graphviz so that `dot` is on the PATH, "
        'or `pip install "loomwright[embedded]"`'
    )


def laid_out(graph: Digraph, engine: Engine) -> list[dict[str, Any]]:
    """The nodes of a graph with what the engine says of them (``pos``, ``rank``), in the order of its output.

    Raises :class:`NoEngine` where the engine fails.
    """
    command = [engine.path, "-Kdot", "-Tjson0", "-q"]
    try:
        done = subprocess.run(  # noqa: S603 (the program was found by us, the text goes through its standard input)
            command, input=graph.source.encode(), capture_output=True, check=False, timeout=300
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise NoEngine(f"{engine.name} did not lay the drawing out: {error}") from error
    if done.returncode != 0:
        said = done.stderr.decode(errors="replace").strip().splitlines()
        raise NoEngine(f"{engine.name} did not lay the drawing out: {said[-1] if said else done.returncode}")
    found = json.loads(done.stdout)
    return [item for item in found.get("objects", ()) if "nodes" not in item]
