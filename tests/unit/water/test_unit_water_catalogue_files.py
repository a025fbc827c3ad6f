"""The shipped figures of fish, filters, loop and media hold together."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from cropplan.water.feed import FeedingRange, RationBand, daily_ration

CATALOG = Path(__file__).parents[3] / "catalog"
FISH = tomllib.loads((CATALOG / "fish.toml").read_text(encoding="utf-8"))
MEDIA = tomllib.loads((CATALOG / "media.toml").read_text(encoding="utf-8"))


def every_entry() -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Each entry as (table, key, body)."""
    for document in (FISH, MEDIA):
        for table, entries in document.items():
            for key, body in entries.items():
                yield table, key, body


def every_value() -> Iterator[tuple[str, dict[str, Any]]]:
    """Each value as (path, body)."""
    for table, key, body in every_entry():
        for name, value in body["values"].items():
            yield f"{table}.{key}.{name}", value


def typical(body: dict[str, Any], name: str) -> float:
    """The typical figure of a value."""
    figure: float = body["values"][name]["typical"]
    return figure


@pytest.mark.parametrize(("table", "key", "body"), list(every_entry()))
def test_an_entry_is_named_and_known_by_its_own_key(
    table: str, key: str, body: dict[str, Any]
) -> None:
    """The id is the key, so that a figure can be found from either."""
    assert body["id"] == key
    assert body["name"].strip()
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", key), table


@pytest.mark.parametrize(("path", "value"), list(every_value()))
def test_a_value_carries_figures_in_order_with_unit_conditions_source_and_trust(
    path: str, value: dict[str, Any]
) -> None:
    """Every figure has a source, or says that it is common practice."""
    assert set(value) == {"low", "typical", "high", "unit", "at", "source", "trust"}, path
    assert value["low"] <= value["typical"] <= value["high"]
    assert value["unit"]
    assert value["at"]
    assert re.fullmatch(r"[WP]\d\d", value["source"])
    assert value["trust"] in {"read", "memory", "practice"}
    assert (value["trust"] == "practice") == (value["source"] == "P00")


@pytest.mark.parametrize("key", FISH["fish"])
def test_a_fish_has_all_that_feeding_and_judging_it_needs(key: str) -> None:
    """The figures build the feeding range and ration bands, and a warm grown fish eats 1 to 2 %."""
    fish = FISH["fish"][key]
    feeding = FeedingRange(
        **{
            name: typical(fish, f"feed_{name}")
            for name in ("stops_below", "full_from", "full_to", "stops_above")
        }
    )
    bands = [
        RationBand(
            up_to=typical(fish, "ration_small_up_to"),
            percent_per_day=typical(fish, "ration_small"),
        ),
        RationBand(
            up_to=typical(fish, "ration_middle_up_to"),
            percent_per_day=typical(fish, "ration_middle"),
        ),
        RationBand(up_to=math.inf, percent_per_day=typical(fish, "ration_large")),
    ]
    assert bands[0].up_to < bands[1].up_to
    assert bands[0].percent_per_day >= bands[1].percent_per_day >= bands[2].percent_per_day
    feed = daily_ration(
        count=10, body_weight=300, temp_water=feeding.full_from, bands=bands, feeding=feeding
    )
    assert 30 <= feed <= 60


@pytest.mark.parametrize("key", FISH["fish"])
def test_a_fish_thrives_inside_what_it_survives(key: str) -> None:
    """Best growth lies in the range to keep, and that in the range outside which it is urgent."""
    values = FISH["fish"][key]["values"]
    best, keep, limit = (values[f"temperature{end}"] for end in ("_best", "", "_limit"))
    assert limit["low"] <= keep["low"] <= best["low"] <= best["high"] <= keep["high"]
    assert keep["high"] <= limit["high"]
    assert values["un_ionised_ammonia"]["high"] < values["ammonia"]["high"]


def test_the_drain_interval_starts_between_its_floor_and_ceiling() -> None:
    """The normal interval is one that may be kept."""
    loop = FISH["loop"]["any"]
    assert typical(loop, "drain_floor") <= typical(loop, "drain_interval")
    assert typical(loop, "drain_interval") < typical(loop, "drain_ceiling")


@pytest.mark.parametrize("key", FISH["filter"])
def test_a_filter_catches_a_share(key: str) -> None:
    """Between nothing and all, in grams to the gram."""
    caught = FISH["filter"][key]["values"]["caught_share"]
    assert 0 < caught["low"] <= caught["high"] < 1
    assert caught["unit"] == "g/g"


@pytest.mark.parametrize("key", MEDIA["media"])
def test_a_medium_is_renewed_before_its_hard_maximum(key: str) -> None:
    """The longest life is never past the age at which it must go."""
    medium = MEDIA["media"][key]
    life, latest = medium["values"]["life"], medium["values"]["hard_maximum"]
    assert life["unit"] == latest["unit"] == "d"
    assert life["low"] > 0
    assert life["high"] <= latest["low"]
    assert isinstance(medium["reusable"], bool)


@pytest.mark.parametrize("key", MEDIA["media"])
def test_a_medium_says_how_it_is_used_again_and_who_says_so(key: str) -> None:
    """Hot water, bleach and peroxide never touch it in the fish loop."""
    medium = MEDIA["media"][key]
    assert re.fullmatch(r"[WP]\d\d", medium["treatment_source"])
    assert medium["treatment_trust"] in {"read", "memory", "practice"}
    harsh = re.search(r"hot|boiling|bleach|peroxide|steam", medium["treatment"], re.IGNORECASE)
    assert not harsh or "out of the fish loop" in medium["treatment"]


def test_the_cautions_of_media_are_ones_that_exist() -> None:
    """A caution named by a medium has a text to travel with the task."""
    texts = tomllib.loads((CATALOG / "cautions.toml").read_text(encoding="utf-8"))["caution"]
    named = {word for medium in MEDIA["media"].values() for word in medium.get("cautions", ())}
    assert "hot-water-perlite" in named
    assert named <= texts.keys()
