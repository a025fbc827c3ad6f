"""Ration, drain, findings, balance, top-ups and waits, decided from what is held and logged."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

import pytest

from cropplan.holding.entry import Act, Done, Drained, Entry, Fed, LoopSet, Tested
from cropplan.holding.house import Units
from cropplan.holding.logged import Logged, LoggedKind
from cropplan.holding.loop import FilterKind, Loop, LoopState
from cropplan.holding.planting import Stage
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.water_acts import Treated
from cropplan.record.projection import logged_in
from cropplan.schedule.balance import balance_of
from cropplan.schedule.findings import judged_tests
from cropplan.schedule.holds import banner
from cropplan.schedule.ration import feed_log, ration_for
from cropplan.schedule.scene import Scene
from cropplan.schedule.topping import last_top_up, unusual_top_up
from cropplan.water.feed import Verdict
from cropplan.water.level import LevelQuestion
from cropplan.water.readings import Key
from tests.builders import LOOP, START, after, bare_house, held, journal, on, scene, standing
from tests.builders import task as task_in

TILAPIA = replace(LOOP, species="tilapia", fish=40, weight_g=150.0, feed_g=90.0, normal_feed_g=90.0)


def watered(
    *days: Iterable[Entry], today: date, loop: Loop = TILAPIA, house: tuple[Act, ...] = ()
) -> Scene:
    """The scene of a day, with the log of the water that the entries make."""
    entries = journal(bare_house(), on(START, *house, LoopSet(loop=loop)), *days)
    seen = scene(held(entries), today)
    log: dict[str, list[Logged]] = {}
    for one in logged_in(entries):
        if one.day <= today:
            log.setdefault(one.loop, []).append(one)
    return replace(seen, water_log=log)


def fed(days: Iterable[int], grams: float) -> list[Entry]:
    """A feed on each of some days after the start."""
    return [entry for n in days for entry in on(after(n), Fed(loop="main", grams=grams))]


def read(day: date, **values: float) -> list[Entry]:
    """A test of the water."""
    return on(day, Tested(loop="main", values=values))


def the_loop(found: Scene) -> Loop:
    """The loop as it is held."""
    return found.holding.loops["main"]


def test_the_ration_follows_kind_weight_and_warmth() -> None:
    """40 fish of 150 g at the 1.5 % of grow-out (FAO 589, 7.3) eat 90 g in warm water."""
    seen = watered(read(after(1), temperature=27), today=after(2))
    ration = ration_for(seen, the_loop(seen))
    assert ration is not None
    assert ration.grams == pytest.approx(90)
    assert ration.words(Units.METRIC) == (
        "about 90 g for 40 of 150 g at 1.5 %, water 27 °C; yours is 90 g"
    )
    assert "3.2 oz" in ration.words(Units.US)
    assert "81 °F" in ration.words(Units.US)


def test_cold_fish_are_fed_nothing_and_an_old_reading_gives_way_to_the_season() -> None:
    """Tilapia stop below 17 degC (FAO 589, 7.4); a reading of ten days is no longer today's."""
    cold = watered(read(after(1), temperature=15), today=after(2))
    ration = ration_for(cold, the_loop(cold))
    assert ration is not None
    assert ration.grams == 0
    assert ration.words(Units.METRIC) == "they eat nothing in water 15 °C: feed none"
    later = watered(read(after(1), temperature=15), today=after(12))
    by_season = ration_for(later, the_loop(later))
    assert by_season is not None
    assert by_season.warmth.read_on is None
    assert "by the season" in by_season.words(Units.METRIC)


def test_growth_is_not_reckoned_long_after_a_weighing() -> None:
    """Feed written for a year must not grow the fish, and the ration, without end."""
    loop = replace(TILAPIA, weighed_on=START)
    warm = read(after(65), temperature=27)
    grown = watered(
        fed(range(1, 60), 90), read(after(55), temperature=27), today=after(60), loop=loop
    )
    ration = ration_for(grown, the_loop(grown))
    assert ration is not None
    assert ration.weight_g == pytest.approx(150 + 59 * 90 / 1.6 / 40)
    old = watered(fed(range(1, 65), 90), warm, today=after(66), loop=loop)
    ration = ration_for(old, the_loop(old))
    assert ration is not None
    assert ration.weight_g == 150
    assert ration.words(Units.METRIC).endswith("; weighed long ago, weigh some")


def test_without_weight_or_fish_no_ration_is_made_up() -> None:
    """No figure is better than an invented one."""
    for loop in (
        replace(TILAPIA, weight_g=None),
        replace(TILAPIA, fish=0),
        replace(TILAPIA, state=LoopState.FALLOW),
        replace(TILAPIA, species="whale"),
    ):
        seen = watered(today=after(2), loop=loop)
        assert ration_for(seen, the_loop(seen)) is None


def test_a_filter_that_is_known_is_drained_by_what_it_holds() -> None:
    """90 g/d make 22.5 g of solids, of which a swirl separator keeps 37.1 % (W61, W54)."""
    loop = replace(TILAPIA, filter_kind=FilterKind.SWIRL, filter_holds_g=50.0)
    seen = watered(
        on(after(9), Drained(loop="main")), fed(range(30), 90), today=after(12), loop=loop
    )
    drain = task_in(seen, "drain", "main")
    assert drain is not None
    assert (drain.due - after(9)).days == int(50 / (90 * 0.25 * 0.371))


def test_a_drain_that_was_skipped_comes_back_and_is_late_past_the_longest_interval() -> None:
    """Wear goes on counting; the ceiling of 14 days is a hard one."""
    seen = watered(on(after(1), Drained(loop="main")), fed(range(40), 1), today=after(16))
    drain = task_in(seen, "drain", "main")
    assert drain is not None
    assert drain.due == drain.latest == after(15)
    assert drain.state.value == "late"
    assert "every 14 days is the longest" in drain.why


def test_readings_of_another_week_are_not_put_together() -> None:
    """Ammonia of today with the pH of last month is no water that ever was."""
    near = watered(
        read(after(20), ph=8.2, temperature=28), read(after(24), ammonia=2), today=after(24)
    )
    tests = judged_tests(near, the_loop(near))
    assert tests is not None
    assert tests.judgement.un_ionised == pytest.approx(0.2, abs=0.01)
    far = watered(
        read(after(1), ph=8.2, temperature=28), read(after(24), ammonia=2), today=after(24)
    )
    tests = judged_tests(far, the_loop(far))
    assert tests is not None
    assert tests.judgement.un_ionised is None
    assert Key.UN_IONISED not in {finding.key for finding in tests.judgement.findings}


@pytest.mark.parametrize(
    ("values", "job"),
    [
        ({"oxygen": 2.0}, "More air into main at once, stop feeding"),
        ({"nitrite": 3.0}, "Stop feeding main, look for dead fish, aerate"),
        ({"ammonia": 4.0}, "Stop feeding main, look for dead fish, aerate"),
        ({"temperature": 38.0}, "Shade main, more air, stop feeding"),
        ({"temperature": 12.0}, "See to the heat of main, stop feeding"),
        ({"ph": 9.0}, "Look at the fish of main, lower its pH slowly"),
        ({"ph": 5.2}, "Look at the fish of main, raise its pH slowly"),
    ],
)
def test_each_reading_that_harms_says_what_to_do_first(values: dict[str, float], job: str) -> None:
    """What to do, what not, and a test on the morrow (common practice, no source)."""
    seen = watered(read(after(3), **values), today=after(3))
    first = task_in(seen, "act-on-test", "main")
    again = task_in(seen, "test-again", "main")
    assert first is not None
    assert again is not None
    assert (first.job, first.due) == (job, after(3))
    assert again.due == after(4)
    about = subject(SubjectKind.LOOP, "main")
    ticked = watered(
        read(after(3), **values),
        on(after(3), Done(duty="act-on-test", subjects=(about,))),
        today=after(3),
    )
    assert task_in(ticked, "act-on-test", "main") is None
    assert task_in(ticked, "test-again", "main") is not None


def test_a_reading_that_only_needs_watching_makes_no_line() -> None:
    """Plants and filter like it otherwise; the fish do not mind."""
    seen = watered(read(after(3), ph=7.6, nitrate=180.0), today=after(3))
    tests = judged_tests(seen, the_loop(seen))
    assert tests is not None
    assert {finding.key for finding in tests.to_watch} == {Key.PH, Key.NITRATE}
    assert task_in(seen, "act-on-test", "main") is None


def test_an_impossible_reading_of_an_old_record_stops_nothing() -> None:
    """A record may hold what was once believed; it is left out."""
    seen = watered(read(after(3), temperature=44.0, ph=7.0), today=after(3))
    tests = judged_tests(seen, the_loop(seen))
    assert tests is not None
    assert set(tests.readings) == {Key.PH}


def test_the_balance_tells_by_how_much_and_since_which_week() -> None:
    """Fruit wants 50 to 80 g/m2/d in media (FAO 589, 8.1); a channel a quarter of a raft."""
    plants = [
        entry for n in range(1, 7) for entry in standing(f"tom{n}", f"B{n}", stage=Stage.FRUITING)
    ]
    seen = watered(plants, fed(range(1, 60), 500), today=after(60))
    found = balance_of(seen, the_loop(seen))
    assert found is not None
    assert found.now.verdict is Verdict.TOO_MUCH
    assert found.now.difference == pytest.approx(500 - 80 * found.area_m2)
    assert found.since == START
    bare = watered(fed(range(1, 60), 500), today=after(60))
    assert balance_of(bare, the_loop(bare)) is None


def test_the_first_top_up_out_of_the_ordinary_asks_once() -> None:
    """1 to 3 % a day is usual of small units (FAO 589); drained water is no leak."""

    def added(*days: tuple[int, float], drained: float = 0.0) -> Scene:
        log = [
            Logged(entry=n, loop="main", kind=LoggedKind.TOPPED_UP, day=after(day), amount=litres)
            for n, (day, litres) in enumerate(days)
        ]
        out = Logged(
            entry=99, loop="main", kind=LoggedKind.DRAINED, day=after(days[-1][0]), amount=drained
        )
        return replace(watered(today=after(days[-1][0])), water_log={"main": [*log, out]})

    usual = added((2, 40), (4, 40))
    assert unusual_top_up(usual, the_loop(usual)) is None
    leak = added((2, 40), (4, 200))
    found = unusual_top_up(leak, the_loop(leak))
    assert found is not None
    assert found.judged.question is LevelQuestion.LEAK
    made_good = added((2, 40), (4, 200), drained=160)
    last = last_top_up(made_good, the_loop(made_good))
    assert last is not None
    assert last.judged.question is LevelQuestion.NOTHING


def test_a_wait_after_a_treatment_ends_on_its_day() -> None:
    """The day given is the first on which it may be eaten again."""
    treated = on(after(1), Treated(loop="main", what="salt", no_eat_until=after(10)))
    for day, held_back in ((9, True), (10, False)):
        seen = watered(treated, standing("tom1", "B1"), today=after(day))
        pick = task_in(seen, "pick", "tom1")
        assert pick is not None
        assert pick.why.startswith("HOLD") is held_back
        assert (banner(the_loop(seen), seen.today) is not None) is held_back


def test_an_amount_that_was_not_written_is_no_amount() -> None:
    """A tick without grams is a feed, and no entry of the log; zero grams is a fast."""
    seen = watered(
        on(after(1), Fed(loop="main")), on(after(2), Fed(loop="main", grams=0)), today=after(3)
    )
    assert [(one.day, one.grams) for one in feed_log(seen, the_loop(seen))] == [(after(2), 0.0)]
