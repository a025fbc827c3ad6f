"""Who follows whom: plants that fade or are gone, against those that stand younger or come on.

It is counted for a crop as a whole. A young plant stands for one old one however far it has come:
it goes on standing for it once it bears, and after the old one has been pulled.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import floor, fsum

from cropplan.catalogue.model import Crop, Duty, Habit
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import RAISING, SPROUTED, Planting, Stage
from cropplan.holding.span import Dated
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.turns import turn_of
from cropplan.schedule.giving_up import share_to_come
from cropplan.schedule.scene import Scene

#: A plant that is gone is made up for, and keeps its follower, for so long. [d] Common practice,
#: no source.
REMEMBERED = 112
#: A bearing plant follows one that is older by at least this share of that one's life; nearer in
#: age they bear side by side. Common practice, no source.
YOUNGER_BY = 0.5

_NOT_YET_BEARING = RAISING | {Stage.SET_OUT, Stage.FLOWERING}
_STARTED = frozenset({Stage.STRUCK, Stage.SOWN}) | SPROUTED


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """Plants that want followers.

    on : the day from which they are missing: their likely end, or the day they went.
    ends : the span of that end; None for plants that are gone.
    count : how many followers are still wanted. begin_with : how many plants of the crop are
        wanted by the claims before it.
    """

    planting: Planting
    on: date
    ends: Dated | None
    count: int
    begin_with: int = 0


def open_claims(
    scene: Scene, duty: Duty, crop: Crop, living: Sequence[Planting], gone: Sequence[Planting]
) -> Iterator[Claim]:
    """What is still without a follower, the first to be missing first.

    living, gone : the plantings of the crop in one house. A fruiting plant that went before it
    was spent is asked to be made up for. One that had its time only keeps the follower that bears
    in its stead, so that no other takes that one for its own.
    """
    early = [planting for planting in gone if went_early(scene, crop, planting)]
    pool = _Pool(scene, crop, living, early)
    before = 0
    for claim in _claims(scene, duty, living, gone):
        turn = turn_of(scene.holding, duty.id, subject(SubjectKind.PLANTING, claim.planting.tag))
        if turn.last_done is not None and (claim.ends is not None or turn.last_done >= claim.on):
            continue  # The grower wants no follower for it.
        timely = claim.ends is None and claim.planting not in early
        missing = claim.count - pool.take(claim, only_standing=timely)
        if missing and not timely:
            yield Claim(
                planting=claim.planting,
                on=claim.on,
                ends=claim.ends,
                count=missing,
                begin_with=before,
            )
            before += missing


def went_early(scene: Scene, crop: Crop, planting: Planting) -> bool:
    """Whether a fruiting plant was lost or pulled from where it stood before it was spent."""
    place = scene.holding.places.get(planting.place)
    stood = place is not None and place.kind not in {PlaceKind.TRAY, PlaceKind.POT}
    return crop.habit is Habit.FRUIT and stood and Stage.SPENT not in planting.seen


def gone_lately(scene: Scene, house: str) -> list[Planting]:
    """Plantings of a house that ended within the time remembered."""
    since = scene.today - timedelta(days=REMEMBERED)
    places = scene.holding.places
    return [
        p
        for p in scene.gone
        if p.ended_on is not None
        and since <= p.ended_on <= scene.today
        and p.place in places
        and places[p.place].house == house
    ]


def _claims(
    scene: Scene, duty: Duty, living: Sequence[Planting], gone: Sequence[Planting]
) -> list[Claim]:
    claims = []
    for planting in living:
        ends = scene.timelines[planting.tag].dates.get(Stage.SPENT)
        if planting.stage in duty.stages and ends is not None:
            claims.append(Claim(planting=planting, on=ends.likely, ends=ends, count=planting.count))
    claims += [
        Claim(planting=planting, on=planting.ended_on, ends=None, count=stood)
        for planting in gone
        if planting.ended_on is not None and (stood := _stood(scene, planting))
    ]
    return sorted(claims, key=lambda claim: (claim.on, claim.planting.tag))


def _stood(scene: Scene, planting: Planting) -> int:
    """How many plants of a planting stood where it ended.

    Its losses may be from before it was set out; but its place held no more than it takes.
    """
    return min(planting.lost + planting.pulled, scene.holding.places[planting.place].holds)


@dataclass(slots=True, kw_only=True)
class _Follower:
    """Plants that may follow others: of one planting, and how many of them nobody has claimed.

    left : of unrooted ones those that are likely to root. comes_on : it does not bear yet.
    """

    planting: Planting
    left: float
    comes_on: bool

    @property
    def born(self) -> date:
        """The day it was begun; long ago when nobody knows."""
        return _born(self.planting) or date.min


class _Pool:
    """All plants of a crop that may follow others."""

    def __init__(
        self, scene: Scene, crop: Crop, living: Sequence[Planting], early: Sequence[Planting]
    ) -> None:
        followers = [
            _Follower(
                planting=planting,
                left=_likely(scene, crop, planting),
                comes_on=planting.stage in _NOT_YET_BEARING,
            )
            for planting in living
        ]
        # One that went early has a claim of its own; here it stands for its elder, so that the two
        # do not ask for two.
        followers += [_Follower(planting=p, left=_stood(scene, p), comes_on=False) for p in early]
        self._followers = sorted(followers, key=lambda one: (one.born, one.planting.tag))

    def take(self, claim: Claim, *, only_standing: bool) -> int:
        """How many followers a claim finds: among those that stand, then among what comes on."""
        standing = [one for one in self._followers if not one.comes_on and _follows(one, claim)]
        wanted = claim.count - _taken(standing, claim.count)
        if only_standing:
            return claim.count - wanted
        coming = [one for one in self._followers if one.comes_on]
        named = claim.planting.cultivar
        kinds = dict.fromkeys([named, None, *(one.planting.cultivar for one in coming)])
        for kind in [named, None] if named else kinds:
            wanted -= _taken([one for one in coming if one.planting.cultivar == kind], wanted)
        return claim.count - wanted


def _taken(followers: Sequence[_Follower], wanted: int) -> int:
    """Claim so many plants, or as many as there are."""
    taken = min(wanted, floor(fsum(one.left for one in followers) + 0.5))
    rest = float(taken)
    for one in followers:
        here = min(rest, one.left)
        one.left -= here
        rest -= here
    return taken


def _follows(one: _Follower, claim: Claim) -> bool:
    """Whether a plant that bears is so much younger than another that it took over from it."""
    elder, before = claim.planting, _born(claim.planting)
    if one.planting.tag == elder.tag or not _same_kind(one.planting, elder):
        return False
    if before is None or one.born == date.min:
        return one.born > date.min
    return one.born >= before + (claim.on - before) * YOUNGER_BY


def _likely(scene: Scene, crop: Crop, planting: Planting) -> float:
    if planting.stage not in _STARTED:
        return planting.count
    waiting = planting.count - planting.rooted
    return planting.rooted + waiting * share_to_come(scene, crop, planting)


def _same_kind(one: Planting, other: Planting) -> bool:
    return one.cultivar is None or other.cultivar is None or one.cultivar == other.cultivar


def _born(planting: Planting) -> date | None:
    return planting.started or min(planting.seen.values(), default=None)
