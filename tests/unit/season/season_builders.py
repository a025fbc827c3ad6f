"""Small seasons to plan: one crop, one kind of place, round figures."""

from __future__ import annotations

from typing import Any

from cropplan.season.demand import (
    CropOption,
    Goal,
    Mothering,
    Origin,
    PlaceKind,
    Season,
    Standing,
)
from cropplan.season.draft import Keep, Strike

WEEKS = 12
#: Two tomatoes struck in week 1 and picked from week 5 to 8, by the lengths of `option`.
TOMATO = Strike(
    crop="tomato",
    origin=Origin.STRUCK,
    kind="bucket",
    tray="tray",
    plants=2,
    strike=1,
    set_out=3,
    first_pick=5,
    pulled=9,
)
#: The two plants of `standing`, kept to their end.
STANDS = Keep(tag="tom1", plants=2, pulled=5)


def option(crop: str = "tomato", **changes: Any) -> CropOption:
    """A crop struck, two weeks in the tray, first picked after four, for two to four weeks."""
    weeks = changes.pop("weeks", WEEKS)
    figures: dict[str, Any] = {
        "crop": crop,
        "origin": Origin.STRUCK,
        "kinds": ("bucket",),
        "tray": "tray",
        "tray_weeks": (2,) * weeks,
        "lead_weeks": (4,) * weeks,
        "curve": (1.0, 1.0, 1.0, 1.0),
        "light": (1.0,) * weeks,
        "stays": (2, 4),
        "success": 1.0,
        "certainty": 0.9,
        "mothering": Mothering(shoots=2.0, fit_from=1, fit_until=6),
    }
    return CropOption(**(figures | changes))


def standing(tag: str = "tom1", **changes: Any) -> Standing:
    """Two bearing plants that stand for five weeks more and give two cuttings each."""
    figures: dict[str, Any] = {
        "tag": tag,
        "crop": "tomato",
        "kind": "bucket",
        "count": 2,
        "set_out": -6,
        "until": 5,
        "picks": (1.0,) * 5,
        "shoots": 2.0,
        "fit_from": 0,
        "fit_until": 5,
    }
    return Standing(**(figures | changes))


def goal(crop: str = "tomato", **changes: Any) -> Goal:
    """Two units a week, all the time."""
    figures: dict[str, Any] = {
        "name": f"{crop} goal",
        "crops": (crop,),
        "amount": 2.0,
        "weight": 1.0,
        "from_week": 0,
        "until_week": changes.pop("weeks", WEEKS),
    }
    return Goal(**(figures | changes))


def season(**changes: Any) -> Season:
    """Twelve weeks, four buckets, six tray positions, one crop of which two plants stand."""
    weeks = changes.pop("weeks", WEEKS)
    places, trays = changes.pop("places", 4), changes.pop("trays", 6)
    gap = changes.pop("gap", 0)
    figures: dict[str, Any] = {
        "weeks": weeks,
        "goals": (goal(weeks=weeks),),
        "kinds": (
            PlaceKind(kind="bucket", capacity=(places,) * weeks, gap_weeks=gap),
            PlaceKind(kind="tray", capacity=(trays,) * weeks),
        ),
        "options": (option(weeks=weeks),),
        "standing": (standing(),),
    }
    return Season(**(figures | changes))
