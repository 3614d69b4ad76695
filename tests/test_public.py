"""What ``import loomwright`` promises: the names of ``__all__``, and the example of its docstring."""

from __future__ import annotations

import textwrap
from pathlib import Path

import pytest

import loomwright


def test_every_public_name_is_there() -> None:
    assert set(loomwright._HOMES) | {"__version__"} == set(loomwright.__all__)
    assert dir(loomwright) == sorted(loomwright.__all__)
    for name in loomwright.__all__:
        assert getattr(loomwright, name) is not None


def test_no_other_name_is() -> None:
    with pytest.raises(AttributeError, match="no attribute 'wield'"):
        loomwright.wield  # noqa: B018


def test_the_example_runs(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "bike.loom").write_bytes((root / "specs" / "stock.loom").read_bytes())
    monkeypatch.chdir(tmp_path)
    example = textwrap.dedent(str(loomwright.__doc__).split("::\n", 1)[1].split("\n\n``check``", 1)[0])
    names: dict[str, object] = {}
    exec(example, names)
    report = names["report"]
    assert isinstance(report, loomwright.Report)
    assert report.mistakes == ()
    assert (tmp_path / "bike.svg").read_text(encoding="utf-8").startswith("<")
