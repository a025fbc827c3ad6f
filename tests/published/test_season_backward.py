"""Backward from the pick, with published stage lengths."""

from __future__ import annotations

from math import ceil

import pytest

from cropplan.season.backward import last_strike
from cropplan.season.demand import CropOption, Origin, PlaceKind, Season

WEEKS = 60


def raised(*, weeks: int, origin: Origin = Origin.SOWN) -> tuple[Season, CropOption]:
    """A crop first picked a number of weeks after it is started, and the year it grows in."""
    option = CropOption(
        crop="crop",
        origin=origin,
        kinds=("bed",),
        tray="tray",
        tray_weeks=(3,) * WEEKS,
        lead_weeks=(weeks,) * WEEKS,
        curve=(1.0,),
        light=(1.0,) * WEEKS,
        stays=(1,),
        success=1.0,
        certainty=0.9,
    )
    kinds = tuple(PlaceKind(kind=kind, capacity=(9,) * WEEKS) for kind in ("bed", "tray"))
    return Season(weeks=WEEKS, goals=(), kinds=kinds, options=(option,)), option


def test_pepper_is_sown_twenty_weeks_before_its_first_pick() -> None:
    """Government of Alberta, Production of sweet bell peppers: first pick about week 20."""
    season, pepper = raised(weeks=20)
    assert last_strike(season, pepper, 32) == 12


@pytest.mark.parametrize(("weeks", "latest"), [(12, 28), (14, 26)])
def test_day_neutral_strawberry_fruits_after_twelve_to_fourteen_weeks(
    weeks: int, latest: int
) -> None:
    """Johnson G, Extending your strawberry season with day neutral varieties, Univ. of Delaware."""
    season, strawberry = raised(weeks=weeks)
    assert last_strike(season, strawberry, 40) == latest


@pytest.mark.parametrize(("celsius", "days", "latest"), [(18, 65, 20), (22, 46, 23), (26, 42, 24)])
def test_a_warmer_house_may_let_tomato_flowers_open_later(
    celsius: int, days: int, latest: int
) -> None:
    """Days from flower to ripe fruit by temperature, so the last flower for a pick in week 30.

    Source: Adams, Cockshull and Cave 2001, Annals of Botany 88:869-877, abstract.
    """
    assert celsius in {18, 22, 26}
    season, tomato = raised(weeks=ceil(days / 7))
    assert last_strike(season, tomato, 30) == latest
