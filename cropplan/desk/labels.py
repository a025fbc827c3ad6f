"""Labels for plantings and places: what is written on them, and the address in their code."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from urllib.parse import quote

from cropplan.desk.desk import Desk, catalogue_for
from cropplan.desk.keys import server_address
from cropplan.holding.holding import Holding
from cropplan.holding.place import Place
from cropplan.holding.planting import Origin, Planting
from cropplan.problems import Refusal, did_you_mean

#: Under this a phone that was let in is led to a planting's page, or to a place among the others.
#: No key is in it, so a label may hang by the door.
LABEL_PATH = "at"
PLANTING, PLACE = "plant", "place"

_BEGUN = {
    Origin.CUTTING: "struck",
    Origin.RUNNER: "pegged",
    Origin.DIVISION: "divided",
    Origin.SLIP: "struck",
    Origin.LAYER: "layered",
    Origin.SEED: "sown",
    Origin.BOUGHT_IN: "brought in",
    Origin.SPLIT: "begun",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """One label: the code to read from afar, what it is, and where its QR code leads."""

    code: str
    lines: tuple[str, ...]
    url: str


def planting_labels(desk: Desk, tags: Sequence[str], *, at: str | None = None) -> list[Label]:
    """Labels for these plantings; for all living ones when none is named.

    at : where the server is reached; None for where it was last started.
    """
    holding = desk.record.snapshot()
    wanted = tags or [p.tag for p in holding.plantings.values() if p.alive]
    plantings = [_planting(holding, tag) for tag in wanted]
    crops = catalogue_for(desk, holding, *{p.crop for p in plantings}).crops
    base = server_address(desk, at)
    return [
        Label(
            code=planting.tag,
            lines=(
                " ".join([crops[planting.crop].name, *_cultivar(planting)]),
                _history(planting),
            ),
            url=f"{base}/{LABEL_PATH}/{PLANTING}/{quote(planting.tag)}",
        )
        for planting in plantings
    ]


def place_labels(desk: Desk, codes: Sequence[str], *, at: str | None = None) -> list[Label]:
    """Labels for these places; for all in use, in walking order, when none is named."""
    holding = desk.record.snapshot(living_only=True)
    in_use = [place for place in holding.places.values() if place.retired_on is None]
    in_use.sort(key=lambda place: (holding.houses[place.house].number, place.walk))
    places = [_place(holding, code) for code in codes] or in_use
    base = server_address(desk, at)
    return [
        Label(
            code=place.code,
            lines=(f"{place.kind.value}, {place.house}", _medium(place)),
            url=f"{base}/{LABEL_PATH}/{PLACE}/{quote(place.code)}",
        )
        for place in places
    ]


def _planting(holding: Holding, tag: str) -> Planting:
    planting = holding.plantings.get(tag)
    if planting is None:
        raise Refusal(f"no planting has the tag '{tag}'{did_you_mean(tag, holding.plantings)}")
    return planting


def _place(holding: Holding, code: str) -> Place:
    place = holding.places.get(code)
    if place is None:
        raise Refusal(f"no place is called '{code}'{did_you_mean(code, holding.places)}")
    return place


def _cultivar(planting: Planting) -> list[str]:
    return [f"'{planting.cultivar}'"] if planting.cultivar else []


def _history(planting: Planting) -> str:
    begun = _BEGUN[planting.way]
    parent = f" from {planting.parent}" if planting.parent else ""
    return f"{begun} {_written(planting.started)}{parent}"


def _medium(place: Place) -> str:
    if place.medium is None:
        return ""
    return f"{place.medium}, filled {_written(place.filled)}"


def _written(day: date | None) -> str:
    """A day with its year, for a label outlives the year."""
    return "on a day not known" if day is None else day.isoformat()
