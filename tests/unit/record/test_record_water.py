"""The log of the water in the record: kept, undone, checked, and told of by older journals."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from record_builders import DAY, bare_house, entry, lived_in, record_with, struck

from cropplan.holding.entry import Drained, Fed, Lost, Tested, Voided
from cropplan.holding.house import Failing
from cropplan.holding.logged import LoggedKind
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.turns import TEST_AGAIN, TEST_WATER, WEIGH_FISH, turn_of
from cropplan.holding.water_acts import ToppedUp, Treated, Weighed, WentWithout
from cropplan.problems import Refusal
from cropplan.record.audit import check
from cropplan.record.backup import backup
from cropplan.record.store import open_record

TANK = subject(SubjectKind.LOOP, "tank")
MAY, JUNE = date(2026, 5, 1), date(2026, 6, 1)


def test_amounts_are_logged_by_day_and_undone_with_their_entry(tmp_path: Path) -> None:
    """A feed without grams is no amount; an undone one leaves no trace in the log."""
    with record_with(tmp_path / "house.db", bare_house()) as record:
        record.append(
            [
                entry(Fed(loop="tank", grams=30.0), MAY),
                entry(Fed(loop="tank"), MAY),
                entry(ToppedUp(loop="tank", litres=20.0), JUNE),
                entry(Drained(loop="tank", litres=4.0), JUNE),
            ]
        )
        told = [(one.kind, one.day, one.amount) for one in record.water_log(DAY)]
        assert told == [
            (LoggedKind.FED, MAY, 30.0),
            (LoggedKind.TOPPED_UP, JUNE, 20.0),
            (LoggedKind.DRAINED, JUNE, 4.0),
        ]
        assert len(record.water_log(JUNE)) == 2
        record.append([entry(Voided(entry=record.revision - 3))])
        assert [one.kind for one in record.water_log(DAY)] == [
            LoggedKind.TOPPED_UP,
            LoggedKind.DRAINED,
        ]
        assert check(record) == []


def test_a_log_that_was_tampered_with_is_found(tmp_path: Path) -> None:
    """What the journal adds up to is compared row by row."""
    with record_with(tmp_path / "house.db", lived_in()) as record:
        record.connection.execute("UPDATE water_log SET amount = 999")
        (problem,) = check(record)
        assert "water_log" in problem.message
        assert "amount is 999.0, but the journal adds up to 22.0" in problem.message


def test_a_journal_of_an_older_version_tells_its_feeds(tmp_path: Path) -> None:
    """The step that makes the log fills it from what was written before there was one."""
    old = Path(__file__).parent / "old" / "v3.db"
    path = tmp_path / "house.db"
    backup(old, path)
    with open_record(path) as record:
        fed = [one for one in record.water_log(date.min) if one.kind is LoggedKind.FED]
        assert [one.amount for one in fed] == [22.0, 31.0]
        assert check(record) == []


def test_plantings_that_ended_lately_are_found_by_their_day(tmp_path: Path) -> None:
    """What the fish had to feed in weeks gone by does not need the whole past."""
    with record_with(tmp_path / "house.db", [*bare_house(), struck("tom1")]) as record:
        record.append([entry(Lost(tag="tom1", count=4), MAY)])
        assert [planting.tag for planting in record.ended_since(MAY)] == ["tom1"]
        assert record.ended_since(JUNE) == []


def test_a_weighing_sets_weight_and_conversion_and_answers_its_duty(tmp_path: Path) -> None:
    """Feed over gain of all fish (FAO 589, 7.3); what cannot be is not kept as conversion."""
    with record_with(tmp_path / "house.db", bare_house()) as record:
        record.append([entry(Weighed(loop="tank", count=5, mean_g=100.0), MAY)])
        record.append([entry(Fed(loop="tank", grams=180.0), date(2026, 5, 9))])
        held, _ = record.append([entry(Weighed(loop="tank", count=5, mean_g=110.0), JUNE)])
        tank = held.loops["tank"]
        assert (tank.weight_g, tank.weighed_on, tank.fed_since_weighing_g) == (110.0, JUNE, 0.0)
        assert tank.fcr == pytest.approx(180 / (10 * 12))
        assert turn_of(held, WEIGH_FISH, TANK).last_done == JUNE
        late, _ = record.append([entry(Weighed(loop="tank", count=5, mean_g=90.0), MAY)])
        assert late.loops["tank"] == tank
        wasted, _ = record.append(
            [entry(Weighed(loop="tank", count=5, mean_g=109.0), date(2026, 6, 9))]
        )
        assert wasted.loops["tank"].fcr == tank.fcr
        for count, mean in ((0, 100.0), (5, 0.0)):
            with pytest.raises(Refusal, match="cannot have been weighed"):
                record.append([entry(Weighed(loop="tank", count=count, mean_g=mean), JUNE)])


def test_the_extra_test_leaves_the_routine_one_alone(tmp_path: Path) -> None:
    """It answers a duty of its own."""
    with record_with(tmp_path / "house.db", bare_house()) as record:
        record.append([entry(Tested(loop="tank", values={"ammonia": 4.0}), MAY)])
        held, _ = record.append(
            [entry(Tested(loop="tank", values={"ammonia": 1.0}, again=True), date(2026, 5, 2))]
        )
        assert turn_of(held, TEST_WATER, TANK).last_done == MAY
        assert turn_of(held, TEST_AGAIN, TANK).last_done == date(2026, 5, 2)
        assert held.tests["tank", "ammonia"].value == 1.0


def test_a_later_treatment_never_shortens_a_wait(tmp_path: Path) -> None:
    """The longest wait holds."""
    with record_with(tmp_path / "house.db", bare_house()) as record:
        record.append([entry(Treated(loop="tank", what="salt", no_eat_until=JUNE), MAY)])
        held, _ = record.append([entry(Treated(loop="tank", what="bath", no_eat_until=MAY), MAY)])
        assert held.loops["tank"].no_eat_until == JUNE
        assert held.loops["tank"].no_water_until is None


def test_a_failure_is_kept_with_the_house_and_an_older_one_is_history(tmp_path: Path) -> None:
    """The last one counts, and changing the settings of the house forgets nothing."""
    with record_with(tmp_path / "house.db", bare_house()) as record:
        record.append([entry(WentWithout(house="lean-to", what=Failing.POWER), JUNE)])
        held, _ = record.append([entry(WentWithout(house="lean-to", what=Failing.HEAT), MAY)])
        house = held.houses["lean-to"]
        assert (house.failed, house.failed_on) == (Failing.POWER, JUNE)
        again, _ = record.append([entry(bare_house()[0].act, JUNE)])
        assert again.houses["lean-to"].failed_on == JUNE


def test_solids_go_to_beds_or_to_the_vessel(tmp_path: Path) -> None:
    """Each remembers its last day; one drain does not go to both."""
    with record_with(tmp_path / "house.db", bare_house()) as record:
        record.append([entry(Drained(loop="tank", beds=("B1",)), MAY)])
        held, _ = record.append([entry(Drained(loop="tank", vessel=True), JUNE)])
        assert held.places["B1"].solids_on == MAY
        assert held.loops["tank"].vessel_filled == JUNE
        with pytest.raises(Refusal, match="write two drains for both"):
            record.append([entry(Drained(loop="tank", beds=("B1",), vessel=True), JUNE)])
        with pytest.raises(Refusal, match="B9"):
            record.append([entry(Drained(loop="tank", beds=("B9",)), JUNE)])
