"""Answers from phones: what was shown is what is ticked, late and twice as well as at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from cropplan.desk import phone, phone_answers
from cropplan.desk.desk import Desk
from cropplan.desk.phone import Ask
from cropplan.desk.phone_answers import Sent, task_keys
from cropplan.desk.premises import go_away
from cropplan.holding.planting import Stage
from cropplan.problems import Misuse, Refusal
from cropplan.record import keys
from cropplan.record.keys import Key, KeyKind
from cropplan.record.store import open_record
from tests.builders import bare_house, bearing, sown, standing, struck

TODAY = date(2026, 6, 10)
NOW = datetime(2026, 6, 10, 6, 0, tzinfo=UTC)


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """A house with two tomatoes in fruit, cuttings in a tray and a lettuce to cut."""
    with open_record(tmp_path / "house.db", create=True) as record:
        for entries in (
            bare_house(),
            bearing("tom1", "B1"),
            standing("tom2", "B2"),
            standing("let1", "W1", stage=Stage.PICKING, crop="lettuce", count=6),
            struck("tom3", date(2026, 6, 1), parent="tom1"),
            sown("bas1", date(2026, 6, 6), crop="basil", count=8, place="T2"),
        ):
            record.append(entries)
        yield Desk(record=record, clock=lambda: NOW)


def key_of(desk: Desk, label: str = "Mina", kind: KeyKind = KeyKind.PHONE) -> Key:
    """A key in use."""
    return keys.add(desk.record, label, kind, made=TODAY)[0]


def line_of(desk: Desk, key: Key, handle: str) -> phone.PhoneLine:
    """A line as the phone shows it."""
    shown = phone.today(desk, key)
    lines = [one for group in shown.lines.values() for one in group]
    return next(one for one in lines if one.line.handle == handle)


def sent(line: phone.PhoneLine, name: str, **more: object) -> Sent:
    """An answer to a line, as the phone that showed it sends it."""
    return Sent(id=name, handle=line.line.handle, keys=line.line.keys, **more)  # type: ignore[arg-type]


def acts(desk: Desk, since: int) -> list[str]:
    """The entries after a number, by kind."""
    return [type(entry.act).__name__ for entry in desk.record.journal() if entry.id > since]


def test_a_line_asks_for_what_a_tick_cannot_say(desk: Desk) -> None:
    """Amounts for fruit, heads for a crop cut whole, a sight for a watch, nothing for the rest."""
    key = key_of(desk)
    asked = {
        one.line.handle: (one.ask, one.unit, one.sight)
        for group in phone.today(desk, key, ahead=60).lines.values()
        for one in group
    }
    assert asked["fi-main"] == (Ask.NOTHING, None, None)
    assert asked["pk-tom"] == (Ask.AMOUNT, "kg", None)
    assert asked["pk-let"] == (Ask.HEADS, "pieces", None)
    sights = {sight for ask, _, sight in asked.values() if ask is Ask.SIGHT}
    assert {Stage.ROOTED, Stage.EMERGED} <= sights


def test_the_second_of_two_phones_is_told_who_was_first(desk: Desk) -> None:
    """Both showed the same turn: it is closed once, and the later phone changes nothing."""
    mina, jonas = key_of(desk), key_of(desk, "Jonas")
    line = line_of(desk, mina, "po-tom")
    before = desk.record.revision
    first = phone_answers.tick(desk, mina, sent(line, "from-mina"))
    second = phone_answers.tick(desk, jonas, sent(line, "from-jonas"))
    assert first.entries
    assert second.entries == ()
    assert second.said == ("po-tom: answered on Wed 10 Jun by Mina already; nothing changed",)
    assert acts(desk, before) == ["Done"]


def test_a_tick_from_an_old_list_does_not_close_the_turn_after(desk: Desk) -> None:
    """A phone that was without signal for days ticks the turn it showed, and no later one."""
    mina, jonas = key_of(desk), key_of(desk, "Jonas")
    line = line_of(desk, mina, "po-tom")
    phone_answers.tick(desk, mina, sent(line, "on-the-day"))
    before = desk.record.revision
    days_after = replace(desk, clock=lambda: NOW + timedelta(days=4))
    late = phone_answers.tick(days_after, jonas, sent(line, "days-after", day=TODAY + timedelta(1)))
    assert "nothing changed" in late.said[0]
    assert acts(desk, before) == []
    assert line_of(days_after, jonas, "po-tom").line.keys != line.line.keys


def test_only_what_was_shown_is_ticked(desk: Desk) -> None:
    """A planting that joins the line after the list was made is not ticked with it."""
    key = key_of(desk)
    line = line_of(desk, key, "po-tom")
    desk.record.append(standing("tom9", "B6"))
    told = phone_answers.tick(desk, key, sent(line, "before-tom9"))
    assert told.said[0].startswith("po-tom: Pollinate tomatoes: B1 and B2, done")
    assert [one.tag for one in line_of(desk, key, "po-tom").plantings] == ["tom9"]


def test_some_of_a_lines_places_can_be_ticked(desk: Desk) -> None:
    """The rest stays open."""
    key = key_of(desk)
    line = line_of(desk, key, "po-tom")
    part = replace(sent(line, "only-b2"), keys=line.line.keys[1:])
    assert phone_answers.tick(desk, key, part).said[0].startswith("po-tom: Pollinate tomatoes: B2")
    assert [one.tag for one in line_of(desk, key, "po-tom").plantings] == ["tom1"]


def test_a_tick_is_written_for_the_day_it_was_made(desk: Desk) -> None:
    """Ticked in the evening without signal, sent the next morning."""
    key = key_of(desk)
    line = line_of(desk, key, "fi-main")
    next_day = replace(desk, clock=lambda: NOW + timedelta(days=1))
    phone_answers.tick(next_day, key, sent(line, "the-evening-before", day=TODAY, note="ate all"))
    entry = desk.record.journal(last=1)[0]
    assert (entry.happened, entry.by, entry.note) == (TODAY, "Mina", "ate all")
    pumps = line_of(desk, key, "pm-main")
    with pytest.raises(Refusal, match="is still to come"):
        phone_answers.tick(desk, key, sent(pumps, "tomorrow", day=TODAY + timedelta(days=1)))


def test_amounts_are_picked_planting_by_planting_and_each_once(desk: Desk) -> None:
    """Cut off half way, the rest is written when the same answer comes again."""
    key = key_of(desk)
    line = line_of(desk, key, "pk-tom")
    before = desk.record.revision
    phone_answers.pick(desk, key, replace(sent(line, "pick-1"), id="pick-1:tom1"), {"tom1": 0.4})
    for _ in range(2):
        told = phone_answers.pick(desk, key, sent(line, "pick-1"), {"tom1": 0.4, "tom2": 0.6})
    assert [one.said[0].split(" on ")[0] for one in told] == [
        "tom1: picked 0.4 kg",
        "tom2: picked 0.6 kg",
    ]
    assert acts(desk, before) == ["Picked", "Picked"]


def test_an_undo_takes_back_all_that_a_tick_wrote_and_only_once(desk: Desk) -> None:
    """Pulled, drained, picked: whatever a tick stood for is void again."""
    key = key_of(desk)
    line = line_of(desk, key, "pk-tom")
    held = desk.record.snapshot()
    phone_answers.pick(desk, key, sent(line, "pick-1"), {"tom1": 0.4, "tom2": None})
    names = ["pick-1:tom1", "pick-1:tom2"]
    told = [phone_answers.undo_ticks(desk, key, "undo-1", names) for _ in range(2)]
    assert told[0] == told[1]
    assert len(told[0].said) == 2
    assert replace(desk.record.snapshot(), last_entry=None) == replace(held, last_entry=None)
    with pytest.raises(Refusal, match="was undone already"):
        phone_answers.undo_ticks(desk, key, "undo-2", names)
    with pytest.raises(Refusal, match="nothing to undo"):
        phone_answers.undo_ticks(desk, key, "undo-3", ["unknown-tick"])


def test_ticks_of_another_key_are_not_undone_by_name(desk: Desk) -> None:
    """A tick's name is its phone's; another phone that has heard of it cannot use it."""
    mina, jonas = key_of(desk), key_of(desk, "Jonas")
    phone_answers.tick(desk, mina, sent(line_of(desk, mina, "fi-main"), "of-mina"))
    with pytest.raises(Refusal, match="nothing to undo"):
        phone_answers.undo_ticks(desk, jonas, "undo-1", ["of-mina"])


def test_what_was_seen_struck_and_set_out_is_written_as_such(desk: Desk) -> None:
    """Acts of their own, with who and when."""
    key = key_of(desk)
    before = desk.record.revision
    bare = Sent(id="seen-1", handle="cr-tom", keys=(), day=TODAY)
    phone_answers.seen(desk, key, bare, "tom3", Stage.ROOTED)
    phone_answers.strike(
        desk, key, replace(bare, id="struck-1"), parent="tom1", count=5, place="T1"
    )
    phone_answers.set_out(desk, key, replace(bare, id="out-1"), "tom3", ["B3", "B4"])
    assert acts(desk, before) == ["Seen", "Began", "SetOut"]
    with pytest.raises(Refusal, match="no living planting has the tag 'none'"):
        phone_answers.strike(desk, key, replace(bare, id="s-2"), parent="none", count=1, place="T1")


def test_a_neighbour_sees_and_does_what_must_go_on_while_it_must(desk: Desk) -> None:
    """Survival work, on the days of the absence, in the houses it is for."""
    po_tom = line_of(desk, key_of(desk), "po-tom")
    go_away(desk, TODAY, TODAY + timedelta(days=5))
    key = replace(key_of(desk, "Ines", KeyKind.NEIGHBOUR), first=TODAY, last=TODAY + timedelta(5))
    shown = phone.today(desk, key)
    lines = [one.line for group in shown.lines.values() for one in group]
    assert lines
    assert all(line.survival for line in lines)
    assert shown.told == ()
    assert phone.sheet(desk, key).errands
    fish = line_of(desk, key, "fi-main")
    assert phone_answers.tick(desk, key, sent(fish, "fed-1")).entries
    early = replace(desk, clock=lambda: NOW - timedelta(days=1))
    assert not any(phone.today(early, key).lines.values())
    bare = Sent(id="no-1", handle="", keys=())
    for refused in (
        lambda: phone_answers.tick(desk, key, sent(po_tom, "no-2")),
        lambda: phone_answers.later(desk, key, sent(fish, "no-3"), to=TODAY + timedelta(2)),
        lambda: phone_answers.pick(desk, key, bare, {"tom1": 1.0}),
        lambda: phone_answers.seen(desk, key, bare, "tom1", Stage.SPENT),
        lambda: phone_answers.strike(desk, key, bare, parent="tom1", count=1, place="T1"),
        lambda: phone_answers.set_out(desk, key, bare, "tom3", ["B5"]),
        lambda: phone_answers.undo_entry(desk, key, "no-4", 1),
    ):
        with pytest.raises(Refusal, match="this key is only for what must go on"):
            refused()


def test_a_feeds_key_can_answer_nothing(desk: Desk) -> None:
    """Even at the desk, behind every check of the server."""
    key = key_of(desk, "wall", KeyKind.FEED)
    line = line_of(desk, key_of(desk), "fi-main")
    with pytest.raises(Refusal, match="this key is only for"):
        phone_answers.tick(desk, key, sent(line, "no-1"))
    with pytest.raises(Refusal, match="this key is only for"):
        phone_answers.pick(desk, key, sent(line, "no-2"), {"tom1": 1.0})


def test_a_skip_needs_a_reason_or_that_it_was_not_needed(desk: Desk) -> None:
    """Blank is refused; not needed is its own reason."""
    key = key_of(desk)
    line = line_of(desk, key, "po-tom")
    with pytest.raises(Misuse, match="say in a word why"):
        phone_answers.skip(desk, key, sent(line, "s-1"), why=" ", not_needed=False)
    told = phone_answers.skip(desk, key, sent(line, "s-2"), why="", not_needed=True)
    assert told.said[0].endswith("not needed (looked at)")


@pytest.mark.parametrize("text", ["", "x", "a/b/c", "fish/moon:main/1", "fish/loop:main/x", "/1"])
def test_a_line_that_is_none_is_refused_with_its_text(text: str) -> None:
    """What a tampered form says is never trusted to be a task."""
    with pytest.raises(Misuse, match="load the page again"):
        task_keys(text)


def test_task_keys_survive_the_way_through_a_page(desk: Desk) -> None:
    """Names with slashes and colons too."""
    key = key_of(desk)
    shown = phone.today(desk, key, ahead=60)
    found = [key for group in shown.lines.values() for one in group for key in one.line.keys]
    assert task_keys("\n".join(map(str, found))) == tuple(found)
    odd = replace(found[0], subject=replace(found[0].subject, code="a/b:c/d"))
    assert task_keys(str(odd)) == (odd,)


def test_the_week_shows_coming_days_and_leaves_out_today(desk: Desk) -> None:
    """Each day's work once, from tomorrow to a week from now."""
    days = phone.week(desk, key_of(desk))
    assert [day for day, _ in days] == sorted({day for day, _ in days})
    assert all(TODAY < day <= TODAY + timedelta(days=7) for day, _ in days)
    for day, lines in days:
        handles = [line.handle for line in lines]
        assert len(handles) == len(set(handles)), day
        assert all(line.due == day for line in lines)


def test_a_plants_page_is_only_for_the_houses_of_its_key(tmp_path: Path) -> None:
    """A phone of one house does not see into the other."""
    with open_record(tmp_path / "house.db", create=True) as record:
        record.append(bare_house(second=True))
        record.append(standing("tom1", "B1"))
        record.append(standing("tom2", "S1"))
        desk = Desk(record=record, clock=lambda: NOW)
        north = replace(key_of(desk), house="north")
        assert phone.plant_page(desk, north, "tom1") is not None
        assert phone.plant_page(desk, north, "tom2") is None
        assert phone.plant_page(desk, north, "none") is None
        assert set(phone.today(desk, north).lines) == {"north"}
