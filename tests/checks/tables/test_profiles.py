"""Profiles: the default is the boat law; a shop's own file is read or refused with a reason."""

from __future__ import annotations

from pathlib import Path

import pytest
from published import aircraft_volts

from loomwright.checks.tables.ampacity import ampacity
from loomwright.checks.tables.profiles import DEFAULT, profile_in, profile_named, profile_names
from loomwright.checks.tables.sourced import TableError

SHOP = """
[sources.shop]
document = "Loomwright's limit"
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
    assert profile.title == "US boat law (used for want of one for motorcycles)"
    assert profile.bare_distance == pytest.approx(7 * 0.0254, abs=5e-4)
    assert profile.sheathed_distance == pytest.approx(40 * 0.0254, abs=5e-4)
    assert (profile.fuse_error_share, profile.fuse_warning_share) == (1.5, 1.0)
    assert (profile.continuous_share, profile.held_share, profile.volt_share) == (0.80, 1.00, 0.95)
    assert (profile.ambient, profile.cranking_seconds, profile.clearing_seconds) == (40.0, 30.0, 5.0)
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
    loose = profile_named("boat-law-10-percent")
    assert loose == boat._replace(title=loose.title, volt_share=0.90, cited=loose.cited)


def test_drops_of_the_other_profiles() -> None:
    """ISO 10133: 3 %; AC 43.13-1B table 11-6: 0.5 V of 14 V."""
    assert profile_named("small-craft").volt_share == 0.97
    assert profile_named("aircraft").volt_share == pytest.approx(1 - aircraft_volts(14.0) / 14.0, abs=5e-5)


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
        (('["ambient", 50]', '["volt_share", 95]'), "figure volt_share: expected a share of 1, found 95"),
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
