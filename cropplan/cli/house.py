"""Houses: put in, show, change."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import click

from cropplan.cli import amounts
from cropplan.cli.face import Face
from cropplan.cli.options import OneOf, acts, looks, of_house
from cropplan.cli.show import Shown, plain
from cropplan.cli.words import Family
from cropplan.holding.house import House, Units
from cropplan.problems import Misuse

_UNITS = OneOf(*Units, what="kind of units")

_WEEK = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@click.group(cls=Family)
def house() -> None:
    """Houses: put in, show, change."""


def _settings(command: Callable[..., None]) -> Callable[..., None]:
    options = (
        click.option("--at", metavar="LAT,LON", help="Where it stands, in degrees: 53.3,-6.2."),
        click.option("--zone", metavar="TZ", help="Its time zone, such as Europe/Dublin."),
        click.option("--units", callback=_UNITS, metavar="UNITS", help="metric or us."),
        click.option("--day", metavar="TEMP", help="Set temperature by day: 20C or 68F."),
        click.option("--night", metavar="TEMP", help="Set temperature by night."),
        click.option("--cover", metavar="SHARE", help="Share of the light let in: 0.6 or 60%."),
        click.option("--lamps", metavar="MOL", help="Light that lamps add, mol/m2 a day."),
        click.option("--lows", metavar="12", help="Outside lows, January to December."),
        click.option("--highs", metavar="12", help="Outside highs, January to December."),
        click.option("--clearness", metavar="12", help="Share of sky light, January to December."),
        click.option("--media-minutes", metavar="N", help="Time for media in a week, minutes."),
        click.option(
            "--solids-wait", metavar="DAYS", help="From solids on a bed to a pick, or off."
        ),
        click.option("--altitude", metavar="M", help="Height above the sea: 340m or 1100ft."),
        click.option("--work-days", metavar="DAYS", help="For plants: mon,thu,sat; or all."),
    )
    for option in reversed(options):
        command = option(command)
    return command


@house.command()
@click.argument("name", required=False)
@_settings
@acts
def new(face: Face, name: str | None, **words: Any) -> None:
    r"""Put in a house, making the record where there is none.

    Without a name it asks, at a terminal. Bare temperatures are in the house's units.

    \b
      cropplan house new "Quay House" --at 53.3,-6.2 --zone Europe/Dublin
    """
    if name is None:
        if not face.at_terminal:
            raise Misuse("the house has no name: cropplan house new NAME --at LAT,LON --zone TZ")
        from cropplan.cli.newcomer import begin_by_questions

        begin_by_questions(face)
        return
    missing = [f"--{key}" for key in ("at", "zone") if words[key] is None]
    if missing:
        raise Misuse(
            f"the house '{name}' lacks {' and '.join(missing)}; "
            "write such as --at 53.3,-6.2 --zone Europe/Dublin"
        )
    if not name.strip():
        raise Misuse(f"'{name}' is no name for a house; write such as 'Quay House'")
    units = words["units"] or Units.METRIC
    begun = House(
        name=" ".join(name.split()), latitude=0, longitude=0, zone=words["zone"], units=units
    )
    face.tell(face.begin(replace(begun, **_changes(units, words))))


@house.command("set")
@of_house
@_settings
@acts
def set_(face: Face, house: str | None, **words: Any) -> None:
    """Change the settings of a house; its dates follow.

    What is not named stays as it is.
    """
    from cropplan.desk import premises

    held = face.only_house(house)
    units = words["units"] or held.units
    changes = _changes(units, words)
    if not changes:
        raise Misuse("nothing to change is named; 'cropplan house set --help' lists the settings")
    face.tell(premises.set_house(face.desk, replace(held, **changes)))


def _changes(units: Units, words: dict[str, Any]) -> dict[str, Any]:
    """The fields of a house that words set, in SI. Raises Misuse."""
    read: dict[str, Callable[[str], Any]] = {
        "day": lambda text: amounts.celsius(text, lambda: units),
        "night": lambda text: amounts.celsius(text, lambda: units),
        "cover": amounts.share,
        "lamps": lambda text: amounts.number(text, "4.5"),
        "lows": lambda text: _twelve(text, lambda one: amounts.celsius(one, lambda: units)),
        "highs": lambda text: _twelve(text, lambda one: amounts.celsius(one, lambda: units)),
        "clearness": lambda text: _twelve(text, amounts.share),
        "zone": str,
        "units": lambda _: units,
        "media_minutes": amounts.minutes_a_week,
        "solids_wait": _wait,
        "altitude": lambda text: amounts.metres(text, lambda: units),
        "work_days": _days_of_week,
    }
    named = {
        "day": "day_c",
        "night": "night_c",
        "lamps": "lamp_mol",
        "lows": "outside_low_c",
        "highs": "outside_high_c",
        "solids_wait": "solids_wait_days",
        "altitude": "altitude_m",
    }
    changes = {
        named.get(key, key): read[key](words[key]) for key in read if words.get(key) is not None
    }
    if words.get("at") is not None:
        changes["latitude"], changes["longitude"] = amounts.position(words["at"])
    return changes


def _wait(text: str) -> int | None:
    return None if text.strip().casefold() == "off" else amounts.whole_days(text)


def _days_of_week(text: str) -> tuple[int, ...]:
    """Days of the week, 1 for Monday; none stands for all of them. Raises Misuse."""
    if text.strip().casefold() == "all":
        return ()
    days = set()
    for word in text.replace(",", " ").casefold().split():
        day = next((n for n, name in enumerate(_WEEK, 1) if word == name.casefold()[:3]), None)
        if day is None:
            raise Misuse(f"'{word}' is no day of the week; write such as mon,thu,sat, or all")
        days.add(day)
    if not days:
        raise Misuse("no working day is named; write such as mon,thu,sat, or all")
    return tuple(sorted(days))


def _twelve(text: str, read: Callable[[str], float]) -> tuple[float, ...]:
    parts = text.replace(",", " ").replace(";", " ").split()
    if len(parts) != 12:
        raise Misuse(f"'{text}' is {len(parts)} figures; write 12, January to December")
    return tuple(read(part) for part in parts)


@house.command()
@looks
def show(face: Face) -> None:
    """Show the houses of the record and their settings."""
    from cropplan.desk import look

    listed = look.houses(face.desk)
    face.show(
        Shown(
            words=lambda: [line for one in listed for line in _told(one)],
            plain=lambda: [plain(one) for one in listed],
        )
    )


def _told(one: House) -> list[str]:
    rows = [
        ("stands at", f"{one.latitude:g}, {one.longitude:g}"),
        ("time zone", one.zone),
        ("units", one.units.value),
        ("set to", f"{_warmth(one.day_c, one)} by day, {_warmth(one.night_c, one)} by night"),
        ("cover lets in", f"{one.cover:.0%} of the light"),
        ("lamps add", f"{one.lamp_mol:g} mol/m² a day" if one.lamp_mol else "nothing"),
        ("outside lows", _months(one.outside_low_c, one)),
        ("outside highs", _months(one.outside_high_c, one)),
        ("media work", _media(one)),
        ("plants are moved", _work_days(one)),
        ("after solids", _solids(one)),
        ("in the record since", one.since.isoformat() if one.since else "not known"),
    ]
    return [one.name, *(f"  {what:<20} {value}" for what, value in rows)]


def _media(one: House) -> str:
    if one.media_minutes is None:
        return "spread over the weeks as usual"
    return f"no more than {one.media_minutes:g} minutes a week"


def _work_days(one: House) -> str:
    named = ", ".join(_WEEK[day - 1] for day in one.work_days)
    return f"on {named}" if named else "on any day of the week"


def _solids(one: House) -> str:
    if one.solids_wait_days is None:
        return "no wait is kept; check your authority"
    return f"picks wait {one.solids_wait_days} days; check your authority"


def _warmth(degrees: float, one: House) -> str:
    if one.units is Units.US:
        return f"{degrees * 1.8 + 32:.0f} °F"
    return f"{degrees:.1f} °C"


def _months(normals: tuple[float, ...], one: House) -> str:
    if not normals:
        return "not given; the set temperatures alone count"
    return f"{_warmth(min(normals), one)} to {_warmth(max(normals), one)} over the year"
