"""A real place for every plant of a plan.

A planting takes its place from the week it is set out until it is pulled and the place has rested,
without a break and without moving: an interval. Taken in order of their first week, intervals never
need more places than the largest number that stand at once, whichever free place each is given
(first fit in left-end order colours an interval graph with as few colours as its largest clique;
Trotter 2005, "First Fit Coloring of Interval Graphs"). So a plan whose counts fit always has a
layout, and every choice among the free places is open to wishes: plants of one planting together,
beside their own crop, early in the walk through the house, and not where their family stood last
in a place marked diseased.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from cropplan.problems import Refusal
from cropplan.season.demand import Season, Standing
from cropplan.season.draft import Draft

_DISEASE = 1000.0  # Outweighs any walk: a sick place is the last choice for the same family.
_NEIGHBOUR = 1.5  # A place beside the same crop is worth this much walking. [place]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One place of the house.

    code, kind : its name and kind. holds : plants it holds. walk : its turn in the walk.
    diseased : whether a disease was seen in it since its medium was last renewed.
    last_family : family that stood in it last; None when not known.
    closes : week it is taken out of use; None when it stays.
    """

    code: str
    kind: str
    holds: int
    walk: int
    diseased: bool = False
    last_family: str | None = None
    closes: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Berth:
    """Plants of one planting in one place. Weeks are half open.

    item : index of the strike in the draft, or tag of the standing planting.
    again : whether their family stood last in the place although it is marked diseased.
    """

    item: int | str
    crop: str
    code: str
    plants: int
    from_week: int
    until_week: int
    again: bool = False


@dataclass(slots=True)
class _Slot:
    place: Place
    free_from: int
    family: str | None
    crop: str | None = None
    item: int | str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Interval:
    item: int | str
    crop: str
    kind: str
    start: int
    pulled: int
    pinned: str | None = None


def places_needed(spans: Iterable[tuple[int, int]]) -> int:
    """Places that spans of weeks need when each keeps one place: most that overlap. [place]

    A span ends before its second week, so one may begin in the week another ends.
    """
    changes: Counter[int] = Counter()
    for start, end in spans:
        if end > start:
            changes[start] += 1
            changes[end] -= 1
    most = now = 0
    for week in sorted(changes):
        now += changes[week]
        most = max(most, now)
    return most


def lay_out(
    season: Season,
    draft: Draft,
    places: Iterable[Place],
    families: Mapping[str, str],
    stands: Mapping[str, Iterable[str]],
) -> tuple[Berth, ...]:
    """A place for every plant of a draft, standing ones where they are.

    families : family of each crop. stands : codes of the places each standing planting is in, one
        for each of its plants, by tag.
    Raises Refusal when a plant finds no place, which counts that fit their kinds rule out unless
    places close while others of their kind stay.
    """
    slots: dict[str, list[_Slot]] = {}
    for place in sorted(places, key=lambda each: each.walk):
        slots.setdefault(place.kind, []).extend(
            _Slot(place, -1, place.last_family) for _ in range(place.holds)
        )
    gap = {kind.kind: kind.gap_weeks for kind in season.kinds}
    taken: list[tuple[_Interval, str, bool]] = []
    for interval in sorted(_intervals(season, draft, stands), key=_in_order):
        family = families.get(interval.crop)
        slot = _choose(slots.get(interval.kind, []), interval, family, gap[interval.kind])
        again = slot.place.diseased and family is not None and slot.family == family
        started_here = interval.pinned is not None
        taken.append((interval, slot.place.code, again and not started_here))
        slot.free_from = interval.pulled + gap[interval.kind]
        slot.family, slot.crop, slot.item = family, interval.crop, interval.item
    return _berths(taken)


def _in_order(interval: _Interval) -> tuple[int, bool, int, str]:
    return (
        interval.start if interval.pinned is None else -1,
        interval.pinned is None,
        interval.pulled,
        str(interval.item),
    )


def _intervals(
    season: Season, draft: Draft, stands: Mapping[str, Iterable[str]]
) -> list[_Interval]:
    found: list[_Interval] = []
    by_tag: dict[str, Standing] = {planting.tag: planting for planting in season.standing}
    left = {tag: list(codes) for tag, codes in stands.items()}
    for keep in sorted(draft.keeps, key=lambda each: each.pulled):
        planting = by_tag[keep.tag]
        codes = left.get(keep.tag, [])
        if keep.pulled <= planting.set_out or planting.set_out >= season.weeks:
            continue
        found.extend(
            _Interval(
                item=keep.tag,
                crop=planting.crop,
                kind=planting.kind,
                start=max(0, planting.set_out),
                pulled=keep.pulled,
                pinned=codes.pop(0) if codes and planting.set_out <= 0 else None,
            )
            for _ in range(keep.plants)
        )
    for index, strike in enumerate(draft.strikes):
        found.extend(
            _Interval(
                item=index,
                crop=strike.crop,
                kind=strike.kind,
                start=strike.set_out,
                pulled=strike.pulled,
            )
            for _ in range(strike.plants if strike.set_out < season.weeks else 0)
        )
    return found


def _choose(slots: list[_Slot], interval: _Interval, family: str | None, gap: int) -> _Slot:
    free = [
        slot
        for slot in slots
        if slot.free_from <= interval.start
        and (slot.place.closes is None or interval.pulled <= slot.place.closes)
        and (interval.pinned is None or slot.place.code == interval.pinned)
    ]
    if not free:
        where = interval.pinned or f"any {interval.kind}"
        raise Refusal(
            f"{interval.crop}: no place in {where} from week {interval.start} to week "
            f"{interval.pulled + gap}"
        )
    return min(free, key=lambda slot: _reluctance(slot, slots, interval, family))


def _reluctance(
    slot: _Slot, slots: list[_Slot], interval: _Interval, family: str | None
) -> tuple[float, int]:
    """How little a free place suits: less is better; the walk decides between equals."""
    sick = slot.place.diseased and family is not None and slot.family == family
    standing = [other for other in slots if other.free_from > interval.start]
    mates = [other for other in standing if other.item == interval.item]
    score = _DISEASE if sick else 0.0
    if mates:
        score += min(abs(other.place.walk - slot.place.walk) for other in mates)
    elif any(
        other.crop == interval.crop and abs(other.place.walk - slot.place.walk) <= 1
        for other in standing
    ):
        score -= _NEIGHBOUR
    if slot.place.closes is None:
        score += _NEIGHBOUR / 2  # Keep places that stay for plantings that stay.
    return score, slot.place.walk


def _berths(taken: list[tuple[_Interval, str, bool]]) -> tuple[Berth, ...]:
    counts = Counter(taken)
    return tuple(
        Berth(
            item=interval.item,
            crop=interval.crop,
            code=code,
            plants=plants,
            from_week=interval.start,
            until_week=interval.pulled,
            again=again,
        )
        for (interval, code, again), plants in counts.items()
        if interval.start < interval.pulled
    )
