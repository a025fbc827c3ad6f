"""The first questions: a house, its water and its places, for someone who has no record yet."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from cropplan.cli import amounts
from cropplan.cli.codes import codes_from
from cropplan.cli.show import write_lines
from cropplan.desk import premises
from cropplan.holding.house import House, Units
from cropplan.holding.loop import Loop
from cropplan.holding.place import PlaceKind
from cropplan.problems import CropplanError, Misuse, did_you_mean

if TYPE_CHECKING:
    from cropplan.cli.face import Face

T = TypeVar("T")


def begin_by_questions(face: Face) -> None:
    """Ask for a house, its water and its places, and put them in the record."""
    write_lines(
        [
            f"A house is put into the record {face.place}.",
            "An empty answer takes what stands in brackets; Ctrl-C leaves, with nothing written.",
            "",
        ]
    )
    write_lines(face.begin(_house()).said)
    write_lines(["", "The water, if fish live in it."])
    _until_taken(lambda: _loop(face))
    write_lines(["", "The places where plants stand, in the order you walk past them."])
    while _until_taken(lambda: _places(face)):
        pass
    write_lines(
        [
            "",
            "Now the plants that stand there, a row at a time, for instance",
            "  cropplan bring-in tomato 6 --in B1-B6 --stage fruiting --age-unknown",
            "and each morning 'cropplan rounds'. 'cropplan --help' lists all commands.",
            "",
        ]
    )


def _house() -> House:
    name = _asked("What is the house called?", _name)
    latitude, longitude = _asked("Where does it stand, in degrees (53.3,-6.2)?", amounts.position)
    zone = _asked("Its time zone?", premises.check_zone, _zone_of_this_computer())
    units = _asked("Units, metric or us?", _units, "metric")
    usual = ("20C", "16C") if units is Units.METRIC else ("68F", "61F")
    day = _asked("Set temperature by day?", lambda t: amounts.celsius(t, lambda: units), usual[0])
    night = _asked("And by night?", lambda t: amounts.celsius(t, lambda: units), usual[1])
    house = House(
        name=name,
        latitude=latitude,
        longitude=longitude,
        zone=zone,
        units=units,
        day_c=day,
        night_c=night,
    )
    try:
        premises.check_house(house)
    except CropplanError as fault:
        write_lines([f"  {fault}", ""])
        return _house()
    return house


def _loop(face: Face) -> bool:
    name = _asked("What is the water called, such as main (empty for none)?", str.strip, "")
    if not name:
        return False
    units = face.units
    volume = _asked("All its water (1200L)?", lambda text: amounts.litres(text, units))
    species = _asked("Which fish (rainbow-trout, tilapia, carp…)?", _name)
    feed = _asked("Daily ration (60g, empty if not known)?", _or_none(units), "")
    loop = Loop(name=name, house=face.house(None).name, volume_l=volume, species=species)
    outcome = premises.add_loop(face.desk, loop)
    write_lines(outcome.said)
    if feed is not None:
        premises.set_loop(face.desk, name, feed_g=feed)
    return False


def _places(face: Face) -> bool:
    typed = _asked("Codes of places of one kind, such as B1-B6 (empty to end)?", str.strip, "")
    if not typed:
        return False
    codes = codes_from(typed)
    kinds = ", ".join(kind.value for kind in PlaceKind)
    kind = _asked(f"Their kind ({kinds})?", _kind, PlaceKind.BUCKET.value)
    medium = _asked("Filled with (perlite…, empty for nothing)?", _medium, "")
    write_lines(premises.add_places(face.desk, codes, kind=kind, medium=medium).said)
    return True


def _until_taken(ask: Callable[[], bool]) -> bool:
    """Ask again whatever was refused."""
    while True:
        try:
            return ask()
        except CropplanError as fault:
            write_lines([f"  {fault}"])


def _asked(question: str, read: Callable[[str], T], default: str | None = None) -> T:
    """The answer to a question, asked until it can be read."""
    while True:
        typed = click.prompt(
            question, default=default, show_default=bool(default), prompt_suffix=" "
        )
        try:
            return read(str(typed))
        except CropplanError as fault:
            write_lines([f"  {fault}"])


def _name(text: str) -> str:
    if not text.strip():
        raise Misuse("a word is needed here")
    return " ".join(text.split())


def _units(text: str) -> Units:
    try:
        return Units(text.strip().casefold())
    except ValueError:
        raise Misuse(f"'{text}' is neither metric nor us") from None


def _kind(text: str) -> PlaceKind:
    known = {kind.value: kind for kind in PlaceKind}
    word = text.strip().casefold()
    if word not in known:
        near = did_you_mean(word, known) or f"; write {', '.join(known)}"
        raise Misuse(f"'{text}' is no kind of place{near}")
    return known[word]


def _medium(text: str) -> str | None:
    return premises.check_medium(text.strip() or None)


def _or_none(units: Callable[[], Units]) -> Callable[[str], float | None]:
    return lambda text: amounts.grams(text, units) if text.strip() else None


def _zone_of_this_computer() -> str | None:
    """The time zone the computer is set to, where it says so."""
    named = os.environ.get("TZ", "")
    linked = str(Path("/etc/localtime").resolve()) if Path("/etc/localtime").exists() else ""
    for zone in (named, linked.partition("zoneinfo/")[2]):
        try:
            if zone:
                return premises.check_zone(zone)
        except CropplanError:
            continue
    return None
