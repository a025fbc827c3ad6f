"""The rounds: lines and their handles, what comes first, what is one line and what is two."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from cropplan.holding.entry import Done, DutyAdded, Entry
from cropplan.holding.planting import Stage
from cropplan.holding.task import Part, Rank, State, SubjectKind, subject
from cropplan.schedule.rounds import Line, Rounds, rounds_of
from tests.builders import (
    START,
    about,
    after,
    bare_house,
    bearing,
    on,
    own_duty,
    seen_from,
    set_out,
    standing,
    struck,
)


def rounds(*days: Iterable[Entry], today: date, ahead: int = 3, house: str = "north") -> Rounds:
    """The rounds of a house."""
    scene = seen_from(bare_house(second=True), *days, today=today)
    return rounds_of(scene, scene.holding.houses[house], ahead)


def line(listed: Rounds, handle: str, state: State | None = None) -> Line:
    """The one line of that handle, in a state when one is given."""
    (found,) = [x for x in listed.lines if x.handle == handle and state in {None, x.state}]
    return found


MAIN = subject(SubjectKind.LOOP, "main")
THREE = [*bearing("tom1", "B3"), *bearing("tom2", "B1"), *bearing("tom3", "B2")]


def test_the_same_work_on_many_places_is_one_line_in_walking_order() -> None:
    """One line a duty and crop, its places as they are walked."""
    pick = line(rounds(THREE, today=after(84)), "pk-tom")
    assert pick.places == ("B1", "B2", "B3")
    assert [one.code for one in pick.subjects] == ["tom2", "tom3", "tom1"]
    assert len(pick.keys) == 3


def test_a_line_adds_up_its_minutes_and_plants() -> None:
    """Minutes are for all of the line; the day's are for what is late and due."""
    one = rounds(bearing(), today=after(84))
    three = rounds(THREE, today=after(84))
    assert line(three, "pk-tom").minutes == 3 * line(one, "pk-tom").minutes
    due = [x for x in three.lines if x.state is not State.COMING]
    assert three.minutes == sum(x.minutes for x in due)


def test_what_was_ticked_in_part_leaves_the_rest() -> None:
    """Per-place ticks; the remainder stays, and what was ticked comes as its own line later."""
    days = on(after(84), Done(duty="pollinate", subjects=(about("tom1"), about("tom2"))))
    listed = rounds(THREE, days, today=after(84))
    assert line(listed, "po-tom", State.LATE).places == ("B2",)
    assert line(listed, "po-tom", State.COMING).places == ("B1", "B3")


def test_the_most_urgent_place_speaks_for_the_line() -> None:
    """A line is late when one of its places is, and says why of that one."""
    done = on(after(90), Done(duty="pollinate", subjects=(about("tom1"), about("tom2"))))
    older = on(after(87), Done(duty="pollinate", subjects=(about("tom3"),)))
    worst = line(rounds(THREE, done, older, today=after(92)), "po-tom")
    assert (worst.state, worst.due, worst.latest) == (State.LATE, after(89), after(90))
    assert worst.why.startswith("5 days since last")


def test_late_comes_before_today_and_today_before_what_is_coming() -> None:
    """After what fish live by: late first, coming last, and what is coming by its day."""
    listed = rounds(THREE, today=after(85), ahead=30)
    states = [x.state for x in listed.lines if not x.comes_first]
    assert states == sorted(states, key=list(State).index)
    coming = [x.due for x in listed.lines if x.state is State.COMING]
    assert coming == sorted(coming)


def test_fish_and_water_are_never_below_plants_of_the_same_part_of_the_day() -> None:
    """Living fish before heat and water before what is now or lost (what gives way first)."""
    listed = rounds(
        THREE, standing("bas1", "W1", crop="basil", stage=Stage.PICKING), today=after(3)
    )
    today = [x for x in listed.lines if x.state is State.TODAY]
    order = [Part.MORNING, Part.ANY, Part.MIDDAY, Part.EVENING]
    assert [x.part for x in today] == sorted((x.part for x in today), key=order.index)
    for part in order:
        ranks = [x.rank for x in today if x.part is part]
        assert ranks == sorted(ranks)
    assert today[0].rank is Rank.FISH


def test_late_plants_never_stand_above_the_days_feeding() -> None:
    """A grower three weeks behind with side shoots and with the weekly water test feeds and
    looks at pumps and heater before reading what is late with the plants.
    """
    listed = rounds(THREE, today=after(100)).lines
    assert [x.handle for x in listed][:5] == ["fi-main", "pm-main", "dr-main", "tw-main", "he"]
    assert {x.state for x in listed[:5]} == {State.LATE, State.TODAY}
    assert any(x.state is State.LATE and x.duty == "side-shoot" for x in listed[5:])
    assert not any(x.comes_first for x in listed[5:])


def test_of_what_comes_first_the_late_drain_stands_above_the_heater() -> None:
    """Fish before their water, and of the water's work the late before the day's."""
    listed = rounds(THREE, today=after(100)).lines
    first = [x for x in listed if x.comes_first]
    assert [x.rank for x in first] == sorted(x.rank for x in first)
    of_water = [x.handle for x in first if x.rank is Rank.WATER]
    assert of_water == ["dr-main", "tw-main", "he"]


def test_what_fish_will_ask_for_tomorrow_waits_its_turn() -> None:
    """Work that is only coming is never among the first lines, fish or not."""
    done = on(after(3), *(Done(duty=duty, subjects=(MAIN,)) for duty in ("fish", "pumps")))
    listed = rounds(THREE, done, today=after(3)).lines
    feeding = [x for x in listed if x.duty == "fish"]
    assert [x.state for x in feeding] == [State.COMING]
    assert not feeding[0].comes_first


def test_late_lines_are_ranked_by_what_dies_first() -> None:
    """Fish, then water, then what is now or lost, then wear and tidiness."""
    ranks = [x.rank for x in rounds(THREE, today=after(100)).lines if x.state is State.LATE]
    assert ranks == sorted(ranks)
    assert len(set(ranks)) > 2


def test_only_so_many_days_ahead_are_shown() -> None:
    """The list is short; what is due and late is always on it."""
    near, far = rounds(THREE, today=START, ahead=0), rounds(THREE, today=START, ahead=400)
    assert all(x.due <= START for x in near.lines)
    assert len(far.lines) > len(near.lines)
    assert {x.handle for x in near.lines} <= {x.handle for x in far.lines}


def test_a_later_house_carries_its_number_in_its_handles() -> None:
    """Two houses with tomatoes have two lines that cannot be taken for each other."""
    days = [*bearing("tom1", "B1"), *bearing("tom2", "S1")]
    here, there = rounds(days, today=after(84)), rounds(days, today=after(84), house="south")
    assert line(here, "pk-tom").places == ("B1",)
    assert line(there, "pk-tom2").places == ("S1",)
    assert line(here, "sc").house == "north"
    assert line(there, "sc2").house == "south"
    assert not any(x.handle.startswith("fi-") for x in there.lines)


def test_own_duties_keep_their_handle_in_every_house() -> None:
    """The grower's own handles are theirs alone, and take no number that might make another."""
    acts = [
        own_duty(
            id=f"own-{code}",
            code=code,
            text=f"work {code}",
            subject=subject(SubjectKind.HOUSE, house),
            every_days=7,
        )
        for code, house in (("o1", "south"), ("o12", "north"))
    ]
    days = on(START, *(DutyAdded(duty=act) for act in acts))
    assert line(rounds(days, today=START, house="south"), "o1").job == "work o1"
    assert line(rounds(days, today=START), "o12").job == "work o12"


def test_two_duties_never_share_a_line() -> None:
    """Should two duties ever have one handle, ticking one must not tick the other."""
    acts = [
        own_duty(id=f"own-{n}", code=code, text=code, every_days=7)
        for n, code in enumerate(("sc", "o2"))
    ]
    listed = rounds(on(START, *(DutyAdded(duty=act) for act in acts)), today=after(8))
    assert [x.job for x in listed.lines if x.handle == "sc"] == [
        "Walk the house for pests and sickness",
        "sc",
    ]


def test_places_are_told_once_though_several_plants_stand_there() -> None:
    """Two plantings in one bed are one place to walk to."""
    days = [*standing("tom1", "W1"), *standing("tom2", "W1")]
    assert line(rounds(days, today=after(1)), "pk-tom").places == ("W1",)


def test_the_head_of_the_rounds_is_of_the_day() -> None:
    """Day length and light on the plants, as of the house."""
    summer, winter = rounds(today=date(2026, 6, 21)), rounds(today=date(2026, 12, 21))
    assert 16 < summer.daylength_h < 17
    assert 7 < winter.daylength_h < 8.5
    assert summer.dli_inside > 4 * winter.dli_inside
    assert (summer.house, summer.on) == ("north", date(2026, 6, 21))


def test_words_count_what_the_line_is_about() -> None:
    """Strikes for several old plants are one number of cuttings."""
    scene_days = [*THREE, *struck("tom4", after(85), count=1)]
    listed = rounds(
        scene_days, set_out("tom4", after(105), ("B4", 1, "tom4")), today=after(200), ahead=400
    )
    strikes = [x for x in listed.lines if x.duty == "strike"]
    assert strikes
    for strike in strikes:
        counted = [int(word) for word in strike.job.split() if word.isdigit()]
        assert len(counted) == 1
        assert counted[0] >= len(strike.keys)


def test_looking_at_nothing_shows_the_house_alone() -> None:
    """A house without plants asks for what a house asks for."""
    listed = rounds(today=START, house="south")
    assert {x.duty for x in listed.lines} == {"heat"}
