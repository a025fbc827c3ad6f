"""Whatever is written, in whatever order: plants tally, first days stand, undo restores."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from cropplan.holding.entry import Done, Entry, PutOff
from cropplan.holding.holding import Holding
from cropplan.holding.planting import ORDER, Origin, Stage
from cropplan.holding.replay import apply, replay
from cropplan.problems import Refusal
from tests.builders import after, journal, on, undone
from tests.strategies import journals, last_day, subjects_of


def steps(entries: list[Entry]) -> list[Holding]:
    """The holding after each entry."""
    holdings = [Holding()]
    for entry in entries:
        holdings.append(apply(holdings[-1], entry))
    return holdings


@given(journals())
def test_plants_always_tally(entries: list[Entry]) -> None:
    """Struck = alive + set out + given + lost + cleared, for every planting after every entry."""
    for holding in steps(entries):
        for planting in holding.plantings.values():
            assert planting.tallies, planting
            assert 0 <= planting.rooted <= planting.begun
            assert planting.rooted <= planting.count or not planting.alive
            assert planting.alive == (planting.count > 0)
            assert planting.alive == (planting.ended_on is None)


@given(journals())
def test_what_left_a_batch_is_what_its_parts_began_with(entries: list[Entry]) -> None:
    """No plant is lost or doubled between a tray and the places it went to."""
    holding = replay(entries)
    begun: dict[str | None, int] = defaultdict(int)
    for planting in holding.plantings.values():
        if planting.origin is Origin.SPLIT:
            begun[planting.split_of] += planting.begun
    for planting in holding.plantings.values():
        assert planting.split_off == begun[planting.tag]


@given(journals())
def test_a_seen_day_never_moves_and_never_contradicts_another(entries: list[Entry]) -> None:
    """The first day a stage was seen stands for ever, and the days are in the order of life."""
    holdings = steps(entries)
    for before, then in pairwise(holdings):
        for tag, planting in before.plantings.items():
            kept = {stage: then.plantings[tag].seen.get(stage) for stage in planting.seen}
            assert kept == planting.seen
    for planting in holdings[-1].plantings.values():
        ranked = [(ORDER[s], day) for s, day in planting.seen.items() if ORDER.get(s, 0) > 0]
        bare_roots = planting.way is Origin.BOUGHT_IN
        for rank, day in ranked:
            for other, when in ranked:
                if rank < other and not (bare_roots and rank == 1):
                    assert day <= when, planting.seen


@given(journals(), st.data())
def test_undo_restores_what_was_held_before(entries: list[Entry], data: st.DataObject) -> None:
    """Undoing the last entry is as if it had not been written; undoing any is the rest replayed."""
    assert replay(undone(entries, len(entries), last_day(entries))) == replay(entries[:-1])
    number = data.draw(st.integers(1, len(entries)))
    rest = [entry for entry in entries if entry.id != number]

    def outcome(of: list[Entry]) -> Holding | str:
        try:
            return replay(of)
        except Refusal as refused:
            return str(refused)

    assert outcome(undone(entries, number, last_day(entries))) == outcome(rest)


@given(journals())
def test_replay_gives_the_same_whenever_it_is_run(entries: list[Entry]) -> None:
    """The journal alone makes the holding; nothing else is asked."""
    assert replay(entries) == replay(journal(entries)) == steps(entries)[-1]


@given(journals())
def test_a_turn_never_goes_back_and_never_skips_a_number(entries: list[Entry]) -> None:
    """Turn numbers name tasks for ever: one entry closes at most one turn of one duty."""
    holdings = steps(entries)
    for entry, (before, then) in zip(entries, pairwise(holdings), strict=True):
        for key, turn in then.turns.items():
            was = before.turns.get(key)
            number = 1 if was is None else was.number
            assert number <= turn.number <= number + 1
            if isinstance(entry.act, PutOff):
                assert turn.number == number
            if was is not None and was.last_done is not None:
                assert turn.last_done is not None
                assert turn.last_done >= was.last_done


@given(journals(most=12), st.data())
def test_the_same_work_written_twice_is_one(entries: list[Entry], data: st.DataObject) -> None:
    """Same duty, same subject, same day: entered from phone and desk it changes nothing more."""
    holding = replay(entries)
    about = data.draw(st.sampled_from(subjects_of(holding)))
    day = after(data.draw(st.integers(0, 300)))
    (done,) = on(day, Done(duty="look", subjects=(about,)))
    once = apply(holding, done)
    assert apply(once, replace(done, by="Ben")) == once


@settings(max_examples=40)
@given(journals(most=12))
def test_stages_are_those_of_living_or_ended_plants(entries: list[Entry]) -> None:
    """A planting is in no stage that it cannot have come to: raised plants are not in flower."""
    for planting in replay(entries).plantings.values():
        if planting.stage in {Stage.ROOTED, Stage.EMERGED}:
            assert Stage.SET_OUT not in planting.seen
        if planting.stage is Stage.PULLED or planting.stage is Stage.LOST:
            assert planting.ended_on == planting.since
