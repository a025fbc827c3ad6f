"""Acts on plantings: write what was seen, set them out, lose, pull and pick them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from cropplan.catalogue.model import Habit
from cropplan.desk.beginnings import as_the_crop_bears, crop_called
from cropplan.desk.cultivars import settled_name
from cropplan.desk.desk import Desk, Outcome, day_done, numbers, write
from cropplan.holding.entry import (
    Act,
    Lost,
    Marked,
    Moved,
    Named,
    Picked,
    Pulled,
    Seen,
    SetOut,
    SetOutPart,
)
from cropplan.holding.growing import living, open_place
from cropplan.holding.holding import Holding
from cropplan.holding.planting import (
    BEARING,
    CLONAL,
    ORDER,
    RAISING,
    Planting,
    Stage,
)
from cropplan.problems import Refusal, did_you_mean
from cropplan.schedule.lengths import bearing_stage
from cropplan.schedule.wording import day_text, list_text, plants_text


def seen(
    desk: Desk,
    tag: str,
    stage: Stage,
    *,
    count: int | None = None,
    on: date | None = None,
    note: str | None = None,
) -> Outcome:
    """Write that a stage was seen; a second, different day is kept and asked about."""
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    before = living(holding, tag)
    stage = as_the_crop_bears(crop_called(desk, before.crop), stage)
    _, entries = write(desk, day, [Seen(tag=tag, stage=stage, count=count)], note=note)
    number = "" if count is None else f" {count} of {before.count}"
    said = [f"{tag}:{number} {stage.value} on {day_text(day)}"]
    known = before.seen.get(stage)
    if known is not None and known != day and count is None and stage is not Stage.RESTING:
        said.append(
            f"{tag} was written as {stage.value} on {day_text(known)} before; that day stands. "
            f"If it was wrong, undo that entry ('cropplan journal --tag {tag}')"
        )
    return Outcome(said=tuple(said), entries=numbers(entries))


def set_out(
    desk: Desk,
    tag: str,
    *,
    places: Sequence[str],
    count: int | None = None,
    anyway: bool = False,
    on: date | None = None,
    note: str | None = None,
) -> Outcome:
    """Set plants out in their places; part of a tray may go and the rest stays.

    count : None for as many as the places have room for.
    anyway : plant although a diseased crop of the same family was pulled there.
    """
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    planting = living(holding, tag)
    _refuse_after_disease(holding, places, day, anyway=anyway)
    shares = _shares(holding, planting, places, count, day)
    needs_tag = len(shares) if sum(shares) < planting.count else len(shares) - 1
    letters = tag.rstrip("0123456789")
    tags = desk.record.next_tags(letters, needs_tag) if needs_tag else []
    tags += [tag] * (len(shares) - needs_tag)
    parts = tuple(
        SetOutPart(place=place, count=share, tag=part_tag)
        for place, share, part_tag in zip(places, shares, tags, strict=True)
    )
    after, entries = write(desk, day, [SetOut(tag=tag, parts=parts)], note=note)
    said = [f"{part.tag}: {plants_text(part.count)} set out in {part.place}" for part in parts]
    rest = after.plantings[tag]
    if tag not in tags and rest.alive:
        said.append(f"{tag}: {plants_text(rest.count)} left in {rest.place}")
    return Outcome(said=tuple(said), entries=numbers(entries))


def _refuse_after_disease(
    holding: Holding, places: Sequence[str], day: date, *, anyway: bool
) -> None:
    for code in places:
        place = open_place(holding, code, day)
        if place.disease_on is not None and not anyway:
            raise Refusal(
                f"a diseased crop was pulled from {code} on {place.disease_on}; renew or "
                f"disinfect it first ('cropplan renew {code}'), or add --anyway"
            )


def _shares(
    holding: Holding, planting: Planting, places: Sequence[str], count: int | None, day: date
) -> list[int]:
    """How many plants go to each place: one each first, then as there is room."""
    if len(set(places)) != len(places):
        raise Refusal(f"a place is named twice in {', '.join(places)}")
    room = []
    for code in places:
        place = open_place(holding, code, day)
        others = [p for p in holding.standing_in(code) if p.tag != planting.tag]
        taken = sum(p.count for p in others if p.stage is not Stage.SPENT)
        room.append(max(1, place.holds - taken))
    wanted = min(planting.count, sum(room)) if count is None else count
    if not len(places) <= wanted <= planting.count:
        raise Refusal(
            f"{planting.tag} has {plants_text(planting.count)}; "
            f"{wanted} cannot be set out in {len(places)} places"
        )
    shares = [1] * len(places)
    for _ in range(wanted - len(places)):
        at = max(range(len(places)), key=lambda n: (room[n] - shares[n], -n))
        shares[at] += 1
    return shares


def move(desk: Desk, tag: str, *, place: str, on: date | None = None) -> Outcome:
    """Move a whole planting to another place."""
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    before = living(holding, tag).place
    _, entries = write(desk, day, [Moved(tag=tag, place=place)])
    return Outcome(said=(f"{tag}: moved from {before} to {place}",), entries=numbers(entries))


def lost(
    desk: Desk, tag: str, count: int, *, why: str | None = None, on: date | None = None
) -> Outcome:
    """Write that plants died, failed, or were given away or sold."""
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    after, entries = write(desk, day, [Lost(tag=tag, count=count, why=why)])
    planting = after.plantings[tag]
    left = f"{plants_text(planting.count)} left" if planting.alive else "none left; closed"
    said = [f"{tag}: {count} gone{f' ({why})' if why else ''}, {left}"]
    if not planting.alive:
        said.append("'cropplan rounds' shows what this means for the plants to follow")
    return Outcome(said=tuple(said), entries=numbers(entries))


def pull(desk: Desk, tag: str, *, why: str | None = None, on: date | None = None) -> Outcome:
    """Clear a planting from its place."""
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    planting = living(holding, tag)
    after, entries = write(desk, day, [Pulled(tag=tag, why=why)])
    said = [f"{tag}: pulled from {planting.place}{f' ({why})' if why else ''}"]
    sisters = [p.tag for p in after.plantings.values() if p.alive and p.clone == planting.clone]
    if planting.way in CLONAL and not sisters:
        said.append(f"that was the last plant of its clone; '{planting.clone}' has no successor")
    place = after.places[planting.place]
    if place.disease_on is not None:
        neighbours = [
            p.tag
            for p in after.plantings.values()
            if p.alive and place.loop and after.places[p.place].loop == place.loop
        ]
        said.append(f"{place.code} must be renewed or disinfected before it is planted again")
        if neighbours:
            said.append(f"look over those on the same water: {list_text(neighbours)}")
    return Outcome(said=tuple(said), entries=numbers(entries))


def pick(
    desk: Desk,
    tag: str,
    *,
    amount: float | None = None,
    on: date | None = None,
    note: str | None = None,
) -> Outcome:
    """Write a pick. Picking says that a crop bears, though nobody wrote the first ripe fruit.

    amount : in the crop's own unit; for heads the number cut, all of them when not said.
    """
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    planting = living(holding, tag)
    crop = crop_called(desk, planting.crop)
    acts: list[Act] = []
    if planting.stage not in BEARING | {Stage.SPENT, Stage.RESTING}:
        if planting.stage in RAISING and ORDER[planting.stage] < 1:
            raise Refusal(f"{tag} is {planting.stage.value}; nothing can be picked from it yet")
        acts.append(Seen(tag=tag, stage=bearing_stage(crop)))
    cleared = 0
    if crop.habit is Habit.HEAD:
        heads = planting.count if amount is None else amount
        if heads != round(heads):
            raise Refusal(f"heads are cut whole; '{heads:g}' is not a number of heads")
        cleared, amount = round(heads), float(heads)
    acts.append(Picked(tag=tag, amount=amount, cleared=cleared))
    after, entries = write(desk, day, acts, note=note)
    spoken = "picked" if amount is None else f"picked {amount:g} {crop.pick_unit}"
    total = after.plantings[tag].picked
    so_far = f", {total:g} {crop.pick_unit} so far" if total else ""
    return Outcome(said=(f"{tag}: {spoken} on {day_text(day)}{so_far}",), entries=numbers(entries))


def pick_unit(desk: Desk, tag: str) -> str:
    """The unit in which a living planting's harvest is told: "kg", "pieces" or "bunches"."""
    return crop_called(desk, living(desk.record.snapshot(), tag).crop).pick_unit


def rename(desk: Desk, tag: str, cultivar: str, *, chain: bool, new_cultivar: bool) -> Outcome:
    """Put right the cultivar of a planting, or of everything of its clone."""
    holding = desk.record.snapshot()
    planting = holding.plantings.get(tag)
    if planting is None:
        raise Refusal(f"no planting has the tag '{tag}'{did_you_mean(tag, holding.plantings)}")
    name = settled_name(holding, planting.crop, cultivar, new=new_cultivar)
    tags = [tag]
    if chain:
        tags = [p.tag for p in holding.plantings.values() if p.clone == planting.clone]
    day = day_done(desk, holding, None)
    _, entries = write(desk, day, [Named(tags=tuple(tags), cultivar=name)])
    return Outcome(said=(f"{list_text(tags)}: now '{name}'",), entries=numbers(entries))


def mark(
    desk: Desk,
    tag: str,
    *,
    mother: bool | None = None,
    barred_why: str | None = None,
    by_insects: bool | None = None,
) -> Outcome:
    """Choose a planting as a mother, bar it, or leave its flowers to insects."""
    holding = desk.record.snapshot()
    day = day_done(desk, holding, None)
    act = Marked(tag=tag, mother=mother, barred_why=barred_why, by_insects=by_insects)
    after, entries = write(desk, day, [act])
    planting = after.plantings[tag]
    words = []
    if mother is not None:
        words.append("a mother to take cuttings from" if mother else "no longer a chosen mother")
    if barred_why is not None:
        barred = planting.barred_why
        words.append(f"not to be taken from ({barred})" if barred else "may be taken from")
    if by_insects is not None:
        words.append("pollinated by insects" if by_insects else "pollinated by hand again")
    return Outcome(said=(f"{tag}: {', '.join(words)}",), entries=numbers(entries))
