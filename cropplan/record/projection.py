"""What the journal adds up to, kept as tables: read as a holding, and changed row by row."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from cropplan.holding.holding import DutySetting, Holding, LastTest, Turn
from cropplan.holding.house import Absence, DayTemperature, House, Setback
from cropplan.holding.logged import Logged, LoggedKind
from cropplan.holding.loop import Loop
from cropplan.holding.own_duty import OwnDuty
from cropplan.holding.place import Place
from cropplan.holding.planting import Planting
from cropplan.holding.season import Goal, SeasonPlan
from cropplan.record.journal import last_day
from cropplan.record.rows import Cell, columns_of, delete, select, shape, upsert

if TYPE_CHECKING:
    from cropplan.holding.entry import Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table of the projection.

    noun : what a row holds. key : its columns of identity.
    held : its nouns in a holding.
    numbered : the nouns are a list and have no name of their own; their place in it, from 1,
        is a column before the others.
    """

    name: str
    noun: type[Any]
    key: tuple[str, ...]
    held: Callable[[Holding], Iterable[Any]]
    numbered: bool = False

    @property
    def columns(self) -> tuple[str, ...]:
        """All its columns, in order."""
        columns = columns_of(self.noun)
        return (*self.key, *columns) if self.numbered else columns

    def by_key(self, nouns: Iterable[Any]) -> dict[tuple[Any, ...], Any]:
        """Nouns by what tells them apart."""
        if self.numbered:
            return {(position,): noun for position, noun in enumerate(nouns, start=1)}
        return {tuple(getattr(noun, name) for name in self.key): noun for noun in nouns}

    def row(self, key: tuple[Any, ...], noun: Any) -> tuple[Cell, ...]:
        """The cells of one row."""
        cells = shape(self.noun).row(noun)
        return (*key, *cells) if self.numbered else cells

    def key_cells(self, key: tuple[Any, ...], noun: Any) -> tuple[Cell, ...]:
        """The cells of the key columns alone."""
        row = dict(zip(self.columns, self.row(key, noun), strict=True))
        return tuple(row[name] for name in self.key)


HOUSE = Table(name="house", noun=House, key=("name",), held=lambda h: h.houses.values())
LOOP = Table(name="loop", noun=Loop, key=("name",), held=lambda h: h.loops.values())
PLACE = Table(name="place", noun=Place, key=("code",), held=lambda h: h.places.values())
PLANTING = Table(name="planting", noun=Planting, key=("tag",), held=lambda h: h.plantings.values())
OWN_DUTY = Table(name="own_duty", noun=OwnDuty, key=("id",), held=lambda h: h.own_duties.values())
DUTY_SETTING = Table(
    name="duty_setting", noun=DutySetting, key=("duty",), held=lambda h: h.settings.values()
)
TURN = Table(name="turn", noun=Turn, key=("duty", "subject"), held=lambda h: h.turns.values())
ABSENCE = Table(
    name="absence", noun=Absence, key=("position",), held=lambda h: h.absences, numbered=True
)
SETBACK = Table(
    name="setback", noun=Setback, key=("position",), held=lambda h: h.setbacks, numbered=True
)
WATER_TEST = Table(
    name="water_test", noun=LastTest, key=("loop", "key"), held=lambda h: h.tests.values()
)
GOAL = Table(name="goal", noun=Goal, key=("crop",), held=lambda h: h.goals.values())
SEASON_PLAN = Table(
    name="season_plan",
    noun=SeasonPlan,
    key=("position",),
    held=lambda h: () if h.plan is None else (h.plan,),
    numbered=True,
)
#: The tables that make a holding.
HELD = (
    HOUSE,
    LOOP,
    PLACE,
    PLANTING,
    OWN_DUTY,
    DUTY_SETTING,
    TURN,
    ABSENCE,
    SETBACK,
    WATER_TEST,
    GOAL,
    SEASON_PLAN,
)
#: Readings are too many to be part of a holding; they are asked for by day.
TEMPERATURE = Table(
    name="temperature", noun=DayTemperature, key=("house", "day"), held=lambda _: ()
)
#: So is what was fed, drained and added.
WATER_LOG = Table(name="water_log", noun=Logged, key=("entry",), held=lambda _: ())

_IN_ORDER = "ORDER BY rowid"
# Spelt as in the index `planting_living`, or SQLite would not use it; nor would it for rows in an
# order, which would be had by reading every planting there ever was.
_LIVING = "stage NOT IN ('pulled', 'lost')"
# Both parts are found by the index `turn_subject`: the turns of the living, and those that are
# not about plantings (';' follows ':').
_LIVING_TURNS = (
    f"WHERE subject IN (SELECT 'planting:' || tag FROM planting WHERE {_LIVING}) "  # noqa: S608 - our own
    "OR subject < 'planting:' OR subject >= 'planting;'"
)


def read_holding(connection: sqlite3.Connection) -> Holding:
    """Everything held, ended plantings included. Raises Unreadable."""
    return _read(connection, plantings=_IN_ORDER, turns=_IN_ORDER)


def read_living(connection: sqlite3.Connection) -> Holding:
    """What is held without the plantings that ended and their turns. Raises Unreadable."""
    return _read(connection, plantings=f"WHERE {_LIVING}", turns=_LIVING_TURNS)


def _read(connection: sqlite3.Connection, *, plantings: str, turns: str) -> Holding:
    def rows(table: Table, rest: str = _IN_ORDER) -> list[Any]:
        return read_table(connection, table, rest)

    return Holding(
        houses={house.name: house for house in rows(HOUSE)},
        loops={loop.name: loop for loop in rows(LOOP)},
        places={place.code: place for place in rows(PLACE)},
        plantings={planting.tag: planting for planting in rows(PLANTING, plantings)},
        own_duties={duty.id: duty for duty in rows(OWN_DUTY)},
        settings={setting.duty: setting for setting in rows(DUTY_SETTING)},
        turns={(turn.duty, turn.subject): turn for turn in rows(TURN, turns)},
        absences=tuple(rows(ABSENCE)),
        setbacks=tuple(rows(SETBACK)),
        goals={goal.crop: goal for goal in rows(GOAL)},
        plan=next(iter(rows(SEASON_PLAN)), None),
        tests={(test.loop, test.key): test for test in rows(WATER_TEST)},
        last_entry=last_day(connection),
    )


def read_table(connection: sqlite3.Connection, table: Table, rest: str = _IN_ORDER) -> list[Any]:
    """The nouns of one table. Raises Unreadable, naming the row."""
    return _nouns(table, connection.execute(_select(table, rest)))


def _select(table: Table, rest: str) -> str:
    return select(table.name, columns_of(table.noun), rest)


def _nouns(table: Table, rows: Iterable[Sequence[Any]]) -> list[Any]:
    # How a noun lies in its row is worked out when there is one: many tables are often empty.
    return [shape(table.noun).read(row) for row in rows]


def read_temperatures(
    connection: sqlite3.Connection, house: str, since: date
) -> list[DayTemperature]:
    """What was read in a house from `since` on, by day. Raises Unreadable."""
    statement = _select(TEMPERATURE, "WHERE house = ? AND day >= ? ORDER BY day")
    return _nouns(TEMPERATURE, connection.execute(statement, (house, since.isoformat())))


def read_water_log(connection: sqlite3.Connection, since: date) -> list[Logged]:
    """What was fed, drained and added from `since` on, by day. Raises Unreadable."""
    return read_rows(connection, WATER_LOG, "WHERE day >= ? ORDER BY day, entry", since)


def read_ended(connection: sqlite3.Connection, since: date) -> list[Planting]:
    """Plantings that ended on or after a day. Raises Unreadable."""
    return read_rows(connection, PLANTING, "WHERE ended_on >= ?", since)


def read_rows(connection: sqlite3.Connection, table: Table, rest: str, since: date) -> list[Any]:
    """The nouns of one table that a condition on a day keeps. Raises Unreadable."""
    return _nouns(table, connection.execute(_select(table, rest), (since.isoformat(),)))


def write_holding(connection: sqlite3.Connection, before: Holding, after: Holding) -> None:
    """Change the rows that differ between two holdings, and no others."""
    for table in HELD:
        write_table(connection, table, table.held(before), table.held(after))


def write_table(
    connection: sqlite3.Connection, table: Table, before: Iterable[Any], after: Iterable[Any]
) -> None:
    """Change the rows of one table that differ."""
    old, new = table.by_key(before), table.by_key(after)
    gone = [table.key_cells(key, old[key]) for key in old.keys() - new.keys()]
    changed = [table.row(key, noun) for key, noun in new.items() if old.get(key) != noun]
    if gone:
        connection.executemany(delete(table.name, table.key), gone)
    if changed:
        connection.executemany(upsert(table.name, table.columns, table.key), changed)


def temperatures_in(entries: Iterable[Entry]) -> list[DayTemperature]:
    """The readings that count: of several for one house and day, the last written."""
    from cropplan.holding.entry import TemperaturesRead  # the morning list only reads

    latest: dict[tuple[str, date], DayTemperature] = {}
    for entry in entries:
        if isinstance(entry.act, TemperaturesRead):
            for reading in entry.act.readings:
                latest[reading.house, reading.day] = reading
    return list(latest.values())


def logged_in(entries: Iterable[Entry]) -> list[Logged]:
    """What entries tell of feed, drains and water added; an amount not written is no amount."""
    # The morning list only reads.
    from cropplan.holding.entry import Drained, Fed
    from cropplan.holding.water_acts import ToppedUp

    found = []
    for entry in entries:
        match entry.act:
            case Fed(loop=loop, grams=float() | int() as amount):
                kind = LoggedKind.FED
            case Drained(loop=loop, litres=float() | int() as amount):
                kind = LoggedKind.DRAINED
            case ToppedUp(loop=loop, litres=amount):
                kind = LoggedKind.TOPPED_UP
            case _:
                continue
        found.append(
            Logged(entry=entry.id, loop=loop, kind=kind, day=entry.happened, amount=float(amount))
        )
    return found
