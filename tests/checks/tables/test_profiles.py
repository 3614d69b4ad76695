"""Profiles: the default is the boat law; a shop's own file is read or refused with a reason."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.checks.tables.ampacity import ampacity
from loomwright.checks.tables.profiles import DEFAULT, profile_in, profile_named, profile_names
from loomwright.checks.tables.sourced import TableError

SHOP = """
[sources.shop]
document = "this project's choice"
edition = ""
place = ""
read = ""

[profile]
source = "shop"
how = "ours"
columns = ["name", "value"]
rows = [
    ["like", "boat-law"],
    ["title", "our shop"],
    ["ambient", 50],
    ["fuse_error_share", 1.25],
]
"""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    path = tmp_path / "shop.toml"
    path.write_text(SHOP)
    return path


def test_the_default_is_boat_law() -> None:
    """33 CFR 183.455: 7 and 40 inches, 150 % of table 5."""
    profile = profile_named(DEFAULT)
    assert profile_names()[0] == DEFAULT == "boat-law"
    assert profile.title == "boat law"
    assert profile.bare_distance == pytest.approx(7 * 0.0254, abs=5e-4)
    assert profile.sheathed_distance == pytest.approx(40 * 0.0254, abs=5e-4)
    assert profile.fuse_error_share == 1.5
    assert not profile.bundle
    assert "33 CFR 183.455" in str(profile.source("bare_distance"))
    assert profile.source("ambient").how == "ours"


def test_every_profile_that_comes_along_can_be_used() -> None:
    assert {"boat-law", "small-craft", "aircraft", "boat-law-3-percent", "boat-law-10-percent"} <= set(profile_names())
    titles = [profile_named(name).title for name in profile_names()]
    assert len(set(titles)) == len(titles)
    for name in profile_names():
        found = ampacity(2.5, "C", 40.0, name)
        assert found.amps is not None
        assert found.amps > 0


def test_a_profile_differs_only_where_it_says_so() -> None:
    boat, strict = profile_named("boat-law"), profile_named("boat-law-3-percent")
    assert strict == boat._replace(title=strict.title, volt_share=0.97, cited=strict.cited)


def test_an_unknown_profile_names_those_there_are() -> None:
    with pytest.raises(ValueError, match="boat-law, "):
        profile_named("sea law")


def test_a_shop_may_state_its_own(shop: Path) -> None:
    profile = profile_in(shop)
    assert (profile.title, profile.ambient, profile.fuse_error_share) == ("our shop", 50.0, 1.25)
    assert profile.bare_distance == 0.178
    assert profile.source("ambient").how == "ours"
    assert ampacity(1.0, "A", 40.0, profile) == ampacity(1.0, "A", 40.0)


@pytest.mark.parametrize(
    ("damage", "said"),
    [
        (('["like", "boat-law"]', '["like", "sea"]'), "like: expected one of boat-law"),
        (('    ["like", "boat-law"],\n', ""), "lacks ampacity, bare_distance"),
        (('["ambient", 50]', '["ambiance", 50]'), "has unknown ambiance"),
        (('["ambient", 50]', '["ambient", "hot"]'), "figure ambient: expected a number, not below 0, found 'hot'"),
        (('["ambient", 50]', '["ambient", -1]'), "not below 0, found -1"),
        (('["ambient", 50]', '["ambient", inf]'), "not below 0, found inf"),
        (('["ambient", 50]', '["ambient", true]'), "not below 0, found True"),
        (('["ambient", 50]', '["bundle", 1]'), "figure bundle: expected true or false, found 1"),
        (('["ambient", 50]', '["ampacity", "sea"]'), "figure ampacity: expected one of boat-law"),
        (('"our shop"', "7"), "figure title: expected a text, found 7"),
    ],
)
def test_a_shops_mistake_is_named(shop: Path, damage: tuple[str, str], said: str) -> None:
    assert damage[0] in SHOP
    shop.write_text(SHOP.replace(*damage))
    with pytest.raises(TableError) as caught:
        profile_in(shop)
    assert said in str(caught.value)
    assert str(caught.value).startswith("shop.toml")
