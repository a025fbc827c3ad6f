"""Acts that begin plantings: strike, sow, bring in."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from cropplan.catalogue.model import Crop
from cropplan.catalogue.read import find_crop, read_catalogue
from cropplan.desk.cultivars import settled_name
from cropplan.desk.desk import Desk, Outcome, day_done, numbers, write
from cropplan.holding.entry import Act, Began
from cropplan.holding.holding import Holding
from cropplan.holding.planting import BEARING, CLONAL, Origin, Planting, Stage
from cropplan.problems import Refusal, did_you_mean
from cropplan.schedule.lengths import bearing_stage
from cropplan.schedule.wording import day_text, list_text


def crop_called(desk: Desk, text: str) -> Crop:
    """The crop that goes by a word, with the grower's own figures; Refusal with a suggestion."""
    crop_id = find_crop(text)
    return read_catalogue([crop_id], desk.own_figures).crops[crop_id]


def as_the_crop_bears(crop: Crop, stage: Stage) -> Stage:
    """The stage, with the crop's own word for bearing: fruit is fruiting, leaves are picking."""
    return bearing_stage(crop) if stage in BEARING else stage


def strike(
    desk: Desk,
    crop_text: str,
    count: int,
    *,
    parent: str | None,
    place: str,
    way: Origin | None = None,
    cultivar: str | None = None,
    new_cultivar: bool = False,
    anyway: bool = False,
    on: date | None = None,
    note: str | None = None,
) -> Outcome:
    """Begin plants from a plant of the house: cuttings, runners, divisions, slips or layers.

    parent : a tag; None when the plant they were taken from is not known.
    anyway : take them although the parent is barred.
    """
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    crop = crop_called(desk, crop_text)
    chosen = way or next((w for w in crop.ways if w in CLONAL), None)
    if chosen is None or (way is not None and way not in crop.ways):
        ways = list_text([w.value for w in crop.ways])
        tried = "cuttings" if way is None else way.value
        raise Refusal(f"{crop.name} is not begun by {tried} here; it is begun by {ways}")
    said = []
    if parent is not None:
        said += _mother_words(holding, crop, parent, day, anyway=anyway)
    elif cultivar is not None:
        cultivar = settled_name(holding, crop.id, cultivar, new=new_cultivar)
    tag = desk.record.next_tag(crop.tag)
    act = Began(
        tag=tag,
        crop=crop.id,
        origin=chosen,
        count=count,
        place=place,
        stage=Stage.STRUCK,
        cultivar=cultivar,
        parent=parent,
        started=day,
    )
    after, entries = write(desk, day, [act], note=note)
    planting = after.plantings[tag]
    line = f"{tag}: {_named(planting, crop, count)} struck in {place} on {day_text(day)}"
    return Outcome(said=(line, *said), entries=numbers(entries))


def _mother_words(
    holding: Holding, crop: Crop, parent: str, day: date, *, anyway: bool
) -> list[str]:
    mother = holding.plantings.get(parent)
    if mother is None:
        raise Refusal(
            f"no planting has the tag '{parent}'{did_you_mean(parent, holding.plantings)}"
        )
    if mother.ended_on is not None and mother.ended_on < day:
        raise Refusal(f"{parent} is gone since {mother.ended_on}; nothing can be taken from it")
    if mother.barred_why is not None and not anyway:
        raise Refusal(
            f"{parent} is marked not to be taken from ({mother.barred_why}); "
            "choose another, or add --anyway"
        )
    cap = crop.values.get("generations")
    if cap is not None and mother.generation + 1 > cap.typical:
        row = mother.generation + 1
        usual = f"fresh stock is usual after {cap.typical:.0f}"
        return [f"these are cuttings number {row} in a row from one plant; {usual}"]
    return []


def sow(
    desk: Desk,
    crop_text: str,
    count: int,
    *,
    place: str,
    cultivar: str | None = None,
    new_cultivar: bool = False,
    on: date | None = None,
    note: str | None = None,
) -> Outcome:
    """Begin plants from seed."""
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    crop = crop_called(desk, crop_text)
    if cultivar is not None:
        cultivar = settled_name(holding, crop.id, cultivar, new=new_cultivar)
    tag = desk.record.next_tag(crop.tag)
    act = Began(
        tag=tag,
        crop=crop.id,
        origin=Origin.SEED,
        count=count,
        place=place,
        stage=Stage.SOWN,
        cultivar=cultivar,
        started=day,
    )
    after, entries = write(desk, day, [act], note=note)
    named = _named(after.plantings[tag], crop, count)
    return Outcome(
        said=(f"{tag}: {named} sown in {place} on {day_text(day)}",), entries=numbers(entries)
    )


def bring_in(
    desk: Desk,
    crop_text: str,
    count: int,
    *,
    places: Sequence[str],
    stage: Stage | None = None,
    started: date | None = None,
    started_give: int = 0,
    age_unknown: bool = False,
    cultivar: str | None = None,
    new_cultivar: bool = False,
    on: date | None = None,
    note: str | None = None,
) -> Outcome:
    """Put in plants that were bought, given, or stood in the house before there was a record.

    count : plants in each place. stage : the stage they are in; None for plants just bought.
    started : when they began to grow or came, with ± `started_give` days; unknown stays unknown.
    """
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    crop = crop_called(desk, crop_text)
    if cultivar is not None:
        cultivar = settled_name(holding, crop.id, cultivar, new=new_cultivar)
    begun = None if age_unknown else started or day
    tags = desk.record.next_tags(crop.tag, len(places))
    acts: list[Act] = [
        Began(
            tag=tag,
            crop=crop.id,
            origin=Origin.BOUGHT_IN,
            count=count,
            place=place,
            stage=as_the_crop_bears(crop, stage or Stage.BOUGHT_IN),
            cultivar=cultivar,
            started=begun,
            started_give=started_give,
            rooted=count,
        )
        for tag, place in zip(tags, places, strict=True)
    ]
    _, entries = write(desk, day, acts, note=note)
    spoken = tags[0] if len(tags) == 1 else f"{tags[0]} to {tags[-1]}"
    age = "age not known" if begun is None else f"since {day_text(begun, day)}"
    line = f"{spoken}: {crop.plural} in {list_text(list(places))}, {age}"
    return Outcome(said=(line,), entries=numbers(entries))


def _named(planting: Planting, crop: Crop, count: int) -> str:
    kind = f" '{planting.cultivar}'" if planting.cultivar else ""
    return f"{count} {crop.name.lower() if count == 1 else crop.plural}{kind}"
