"""Whatever media fall due together: no week over the grower's limit, none past its hard maximum."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from cropplan.holding.entry import HouseSet, PlacesAdded
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import Stage
from cropplan.holding.task import Task
from cropplan.schedule.levelling import Piece, levelled, monday, over_limit
from cropplan.schedule.tasks import open_tasks
from tests.builders import HOUSE, START, after, bare_house, bearing, on, seen_from

MINUTES = 20.0
DAYS = st.integers(min_value=0, max_value=250)


@st.composite
def pieces(draw: st.DrawFn) -> list[Piece[str]]:
    """Equal pieces of work, each with its first, wanted and last day."""
    found = []
    for number in range(draw(st.integers(1, 40))):
        opens, wants, closes = sorted(after(days) for days in draw(st.tuples(DAYS, DAYS, DAYS)))
        found.append(
            Piece(name=f"B{number}", opens=opens, wants=wants, closes=closes, minutes=MINUTES)
        )
    return found


def can_be_laid(work: list[Piece[str]], each_week: int) -> bool:
    """Whether equal pieces fit at all, found week by week, the soonest to close first.

    Written apart from the code under test: for pieces of one size, the rule of the earliest
    deadline finds a way whenever there is one.
    """
    waiting = sorted(work, key=lambda piece: monday(piece.opens))
    ready: list[Piece[str]] = []
    week = monday(min(piece.opens for piece in work))
    while waiting or ready:
        while waiting and monday(waiting[0].opens) <= week:
            ready.append(waiting.pop(0))
        ready.sort(key=lambda piece: piece.closes)
        if any(monday(piece.closes) < week for piece in ready):
            return False
        del ready[:each_week]
        week += timedelta(days=7)
    return True


@given(pieces(), st.integers(min_value=1, max_value=8))
def test_work_is_laid_within_its_days_and_no_week_is_too_full_where_that_can_be(
    work: list[Piece[str]], each_week: int
) -> None:
    """Each piece keeps to its days; where all can fit, no week is over the limit."""
    limit = each_week * MINUTES
    days = levelled(work, limit)
    assert days.keys() == {piece.name for piece in work}
    for piece in work:
        assert piece.opens <= days[piece.name] <= piece.closes
    if can_be_laid(work, each_week):
        assert over_limit(((day, MINUTES) for day in days.values()), limit) == []


@given(pieces())
def test_with_room_enough_everything_falls_on_the_day_it_is_wanted(work: list[Piece[str]]) -> None:
    """Levelling moves nothing that need not move."""
    assert levelled(work, MINUTES * len(work)) == {piece.name: piece.wants for piece in work}


@given(pieces(), st.integers(min_value=1, max_value=8))
def test_the_order_in_which_work_is_told_moves_no_load(
    work: list[Piece[str]], each_week: int
) -> None:
    """The same places in another walking order make weeks no fuller."""
    limit = each_week * MINUTES

    def longest(told: list[Piece[str]]) -> int:
        load: dict[date, int] = defaultdict(int)
        for day in levelled(told, limit).values():
            load[monday(day)] += 1
        return max(load.values())

    if can_be_laid(work, each_week):
        assert longest(work) <= each_week
        assert longest(work[::-1]) <= each_week


def renewals(minutes: float | None, today: date) -> list[Task]:
    """The renewals of forty buckets of perlite that were all filled on one day."""
    acts = (
        HouseSet(house=replace(HOUSE, media_minutes=minutes)),
        PlacesAdded(
            codes=tuple(f"B{n}" for n in range(1, 41)),
            house="north",
            kind=PlaceKind.BUCKET,
            medium="perlite",
            filled=START,
        ),
    )
    scene = seen_from(on(START, *acts), today=today)
    return [task for task in open_tasks(scene) if task.key.duty == "renew-medium"]


@given(
    st.one_of(st.none(), st.integers(min_value=3, max_value=40).map(lambda n: n * MINUTES)),
    st.integers(min_value=0, max_value=500),
)
def test_forty_buckets_filled_on_one_day_are_not_renewed_in_one_week(
    minutes: float | None, days: int
) -> None:
    """No week over the labour that the grower set, none past its hard maximum."""
    tasks = renewals(minutes, after(days))
    assert len(tasks) == 40
    limit = minutes or 120.0
    soonest = max(after(days), min(task.earliest for task in tasks))
    hard = tasks[0].latest
    room = ((monday(hard) - monday(soonest)).days // 7 + 1) * (limit // MINUTES)
    assert all(task.due <= task.latest for task in tasks)
    if room >= 40:
        assert over_limit(((max(t.due, after(days)), t.minutes) for t in tasks), limit) == []


@given(
    st.lists(st.integers(min_value=-200, max_value=200), min_size=1, max_size=6),
    st.integers(min_value=0, max_value=500),
)
def test_under_a_crop_the_renewal_waits_for_the_gap_but_never_past_the_hard_maximum(
    starts: list[int], days: int
) -> None:
    """Buckets with tomatoes of any age: each renewal falls when its crop ends, where that is in
    time; common practice, no source.
    """
    today = after(days)
    crops = [
        bearing(f"tom{n}", f"B{n}", start=after(start)) for n, start in enumerate(starts, start=1)
    ]
    scene = seen_from(bare_house(), *crops, today=today)
    for task in open_tasks(scene):
        if task.key.duty != "renew-medium":
            continue
        assert task.due <= max(task.latest, today)
        standing = scene.holding.standing_in(task.key.subject.code)
        ends = [scene.timelines[p.tag].likely(Stage.SPENT) for p in standing]
        free = max((end for end in ends if end is not None), default=None)
        if free is not None and max(free, today) <= task.latest:
            assert task.due >= free
