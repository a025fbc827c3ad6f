"""Acts on what stands still: houses, places, water loops and times away."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from cropplan.catalogue.read import read_catalogue
from cropplan.desk.desk import (
    Desk,
    Outcome,
    day_done,
    house_called,
    numbers,
    open_desk,
    today_in,
    write,
)
from cropplan.holding.entry import (
    HouseSet,
    LoopSet,
    LoopTurned,
    PlaceRetired,
    PlacesAdded,
    PlaceSet,
    WentAway,
)
from cropplan.holding.house import Absence, House
from cropplan.holding.loop import FilterKind, Loop, LoopState
from cropplan.holding.place import PlaceKind
from cropplan.holding.things import loop_called
from cropplan.problems import Misuse, Refusal, did_you_mean
from cropplan.schedule.wording import day_text, list_text

#: Plants that a place usually takes. Common practice, no source; said otherwise with --holds.
USUALLY_HOLDS = {
    PlaceKind.BUCKET: 1,
    PlaceKind.CHANNEL: 1,
    PlaceKind.HOLE: 1,
    PlaceKind.POT: 1,
    PlaceKind.BED: 20,
    PlaceKind.TRAY: 40,
}


def check_zone(zone: str) -> str:
    """The zone name, when it is one. Raises Misuse with a near name."""
    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        near = did_you_mean(zone, available_timezones())
        raise Misuse(
            f"no time zone is called '{zone}'{near}; write such as Europe/Dublin"
        ) from None
    return zone


def check_house(house: House) -> None:
    """Refuse a house whose figures cannot be. Raises Misuse."""
    check_zone(house.zone)
    if not -90 <= house.latitude <= 90 or not -180 <= house.longitude <= 180:
        raise Misuse(
            f"'{house.latitude:g},{house.longitude:g}' is no place on earth; "
            "write latitude,longitude in degrees, such as 53.3,-6.2"
        )
    if not 0 < house.cover <= 1:
        raise Misuse(f"the cover lets through a share between 0 and 1, got '{house.cover:g}'")
    for what, degrees in (("day", house.day_c), ("night", house.night_c)):
        if not -5 <= degrees <= 45:
            raise Misuse(f"a {what} temperature of {degrees:g} °C cannot be meant; −5 to 45 °C")
    if house.night_c > house.day_c:
        raise Misuse(
            f"the night is set warmer ({house.night_c:g} °C) than the day ({house.day_c:g} °C); "
            "are the two swapped?"
        )
    for normals in (house.outside_low_c, house.outside_high_c, house.clearness):
        if len(normals) not in {0, 12}:
            raise Misuse(f"normals are 12 figures, January to December; got {len(normals)}")
    _check_habits(house)


def _check_habits(house: House) -> None:
    for what, amount, most in (
        ("minutes a week for media", house.media_minutes, 7 * 24 * 60),
        ("days between solids and a pick", house.solids_wait_days, 365),
    ):
        if amount is not None and not 0 <= amount <= most:
            raise Misuse(f"{amount:g} {what} cannot be; 0 to {most}")
    if house.altitude_m is not None and not -500 <= house.altitude_m <= 5000:
        raise Misuse(f"no house stands {house.altitude_m:g} m above the sea; −500 to 5000")


def begin_record(
    path: Path, house: House, *, clock: Callable[[], datetime], by: str | None = None
) -> tuple[Desk, Outcome]:
    """Make a record with its first house; a house that cannot be leaves no record behind."""
    check_house(house)
    desk = open_desk(path, clock=clock, by=by, create=True)
    try:
        return desk, new_house(desk, house)
    except BaseException:
        desk.record.close()
        raise


def new_house(desk: Desk, house: House) -> Outcome:
    """Put a new house into the record, as the last of its houses."""
    holding = desk.record.snapshot()
    if house.name in holding.houses:
        raise Refusal(f"a house is called '{house.name}' already; change it with 'house set'")
    check_house(house)
    today = today_in(desk, house)
    house = replace(house, number=len(holding.houses) + 1, since=today)
    _, entries = write(desk, today, [HouseSet(house=house)])
    return Outcome(said=(f"{house.name}: the house is in the record",), entries=numbers(entries))


def set_house(desk: Desk, house: House) -> Outcome:
    """Change the settings of a house; its dates follow."""
    check_house(house)
    _, entries = write(desk, today_in(desk, house), [HouseSet(house=house)])
    return Outcome(said=(f"{house.name}: set",), entries=numbers(entries))


def check_medium(medium: str | None) -> str | None:
    """The medium, when the catalogue knows it. Raises Refusal with a near name."""
    if medium is None:
        return None
    known = read_catalogue([]).media
    if medium not in known:
        near = did_you_mean(medium, known) or f"; it knows {', '.join(known)}"
        raise Refusal(f"the catalogue knows no medium '{medium}'{near}")
    return medium


def add_places(
    desk: Desk,
    codes: Sequence[str],
    *,
    kind: PlaceKind,
    house: str | None = None,
    holds: int | None = None,
    medium: str | None = None,
    filled: date | None = None,
    loop: str | None = None,
    on: date | None = None,
) -> Outcome:
    """Put in places of one kind, in walking order.

    loop : None for the house's only loop, when it has one.
    """
    holding = desk.record.snapshot()
    there = house_called(holding, house)
    day = day_done(desk, holding, on)
    if filled is not None:
        day_done(desk, holding, filled)
    loops = [known.name for known in holding.loops.values() if known.house == there.name]
    act = PlacesAdded(
        codes=tuple(codes),
        house=there.name,
        kind=kind,
        holds=USUALLY_HOLDS[kind] if holds is None else holds,
        medium=check_medium(medium),
        filled=filled,
        loop=loop or (loops[0] if len(loops) == 1 else None),
    )
    _, entries = write(desk, day, [act])
    each = f"{act.holds} plant{'s' if act.holds > 1 else ''} each"
    line = f"{list_text(list(codes))}: {kind.value}, {each}, in {there.name}"
    return Outcome(said=(line,), entries=numbers(entries))


def set_places(
    desk: Desk,
    codes: Sequence[str],
    *,
    holds: int | None = None,
    medium: str | None = None,
    filled: date | None = None,
    loop: str | None = None,
) -> Outcome:
    """Put right what is known of places."""
    holding = desk.record.snapshot()
    day = day_done(desk, holding, None)
    known = check_medium(medium)
    acts = [
        PlaceSet(place=code, holds=holds, medium=known, filled=filled, loop=loop) for code in codes
    ]
    _, entries = write(desk, day, acts)
    return Outcome(said=(f"{list_text(list(codes))}: set",), entries=numbers(entries))


def retire_place(
    desk: Desk, code: str, *, why: str | None = None, on: date | None = None
) -> Outcome:
    """Take a place out of service; its history stays."""
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    _, entries = write(desk, day, [PlaceRetired(place=code, why=why)])
    return Outcome(said=(f"{code}: out of service from {day_text(day)}",), entries=numbers(entries))


def add_loop(desk: Desk, loop: Loop, *, house: str | None = None) -> Outcome:
    """Put in a water loop."""
    holding = desk.record.snapshot()
    there = house_called(holding, house)
    plain = _plain(loop.name)
    twin = next((name for name in holding.loops if _plain(name) == plain), None)
    if twin is not None:
        raise Refusal(f"a water loop is called '{twin}' already; give this one another name")
    if not plain:
        raise Misuse(f"'{loop.name}' is no name for a loop; use letters or numbers, such as main")
    _check_loop(loop)
    day = today_in(desk, there)
    loop = replace(
        loop,
        house=there.name,
        since=day,
        normal_feed_g=normal_feed_of(loop),
        weighed_on=None if loop.weight_g is None else day,
    )
    _, entries = write(desk, day, [LoopSet(loop=loop)])
    return Outcome(
        said=(f"{loop.name}: {loop.volume_l:g} L with {loop.species}, in {there.name}",),
        entries=numbers(entries),
    )


def set_loop(
    desk: Desk,
    name: str,
    *,
    volume_l: float | None = None,
    species: str | None = None,
    fish: int | None = None,
    weight_g: float | None = None,
    feed_g: float | None = None,
    normal_feed_g: float | None = None,
    filter_kind: FilterKind | None = None,
    filter_holds_g: float | None = None,
    on: date | None = None,
) -> Outcome:
    """Put right what is known of a loop and its fish; None leaves a thing as it was."""
    holding = desk.record.snapshot()
    held = loop_called(holding, name)
    day = day_done(desk, holding, on)
    changed = replace(
        held,
        volume_l=held.volume_l if volume_l is None else volume_l,
        species=species or held.species,
        fish=held.fish if fish is None else fish,
        weight_g=held.weight_g if weight_g is None else weight_g,
        feed_g=held.feed_g if feed_g is None else feed_g,
        normal_feed_g=normal_feed_of(held) if normal_feed_g is None else normal_feed_g,
        filter_kind=filter_kind or held.filter_kind,
        filter_holds_g=held.filter_holds_g if filter_holds_g is None else filter_holds_g,
        weighed_on=held.weighed_on if weight_g is None else day,
    )
    _check_loop(changed)
    _, entries = write(desk, day, [LoopSet(loop=changed)])
    said = [f"{name}: set"]
    if fish is not None and held.fish is not None and fish != held.fish:
        said.append(
            f"  {held.fish} to {fish} fish: feed and drains step with them, plants feel it a week "
            f"or more later; 'cropplan loop show {name}' has the balance"
        )
    return Outcome(said=tuple(said), entries=numbers(entries))


def normal_feed_of(loop: Loop) -> float | None:
    """The feed at which the usual drain interval is right: as set, or the first ration set.

    It stays when the ration changes later, for then the filter fills sooner or later than usual.
    """
    return loop.feed_g if loop.normal_feed_g is None else loop.normal_feed_g


def _check_loop(loop: Loop) -> None:
    """Refuse a loop whose figures cannot be."""
    fish = read_catalogue([]).fish
    if loop.species not in fish:
        near = did_you_mean(loop.species, fish) or f"; it knows {', '.join(fish)}"
        raise Refusal(f"the catalogue knows no fish '{loop.species}'{near}")
    if loop.volume_l <= 0:
        raise Misuse(f"a volume of {loop.volume_l:g} L cannot be; write such as 1200L")
    for what, amount in (
        ("number of fish", loop.fish),
        ("weight of a fish", loop.weight_g),
        ("ration", loop.feed_g),
        ("usual feed", loop.normal_feed_g),
        ("filter", loop.filter_holds_g),
    ):
        if amount is not None and amount < 0:
            raise Misuse(f"a {what} of {amount:g} cannot be")


def turn_loop(desk: Desk, name: str, state: LoopState, *, on: date | None = None) -> Outcome:
    """Write that a loop is stocked, cycling or fallow."""
    holding = desk.record.snapshot()
    loop_called(holding, name)
    day = day_done(desk, holding, on)
    _, entries = write(desk, day, [LoopTurned(loop=name, state=state)])
    return Outcome(said=(f"{name}: {state.value}",), entries=numbers(entries))


def go_away(desk: Desk, first: date, last: date, *, house: str | None = None) -> Outcome:
    """Write a time away, given ahead."""
    holding = desk.record.snapshot()
    if house is not None:
        house_called(holding, house)
    day = day_done(desk, holding, None)
    _, entries = write(desk, day, [WentAway(absence=Absence(first=first, last=last, house=house))])
    return Outcome(
        said=(f"away {day_text(first, day)} to {day_text(last, day)}",), entries=numbers(entries)
    )


def _plain(name: str) -> str:
    """A name as handles are compared: letters and figures only, no capitals."""
    return "".join(letter for letter in name.casefold() if letter.isalnum())
