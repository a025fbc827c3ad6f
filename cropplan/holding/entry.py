"""Journal entries: what was done or seen, as small frozen values.

An entry is never edited. It carries two days, when the thing happened and when it was written,
and one act. A mistake is put right by a later entry whose act is `Voided`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from cropplan.holding.house import Absence, DayTemperature, House, Setback
from cropplan.holding.loop import Loop, LoopState
from cropplan.holding.own_duty import OwnDuty
from cropplan.holding.place import Care, PlaceKind
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.season import GoalDropped, GoalSet, SeasonAccepted
from cropplan.holding.task import Subject
from cropplan.holding.water_acts import ToppedUp, Treated, Weighed, WentWithout


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseSet:
    """A house was put in or its settings changed."""

    house: House


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopSet:
    """A water loop was put in or changed."""

    loop: Loop


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopTurned:
    """A loop was stocked, left fallow, or is cycling."""

    loop: str
    state: LoopState


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacesAdded:
    """Places of one kind were put in, in walking order."""

    codes: tuple[str, ...]
    house: str
    kind: PlaceKind
    holds: int = 1
    medium: str | None = None
    filled: date | None = None
    loop: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceSet:
    """What is known of a place was put right; None leaves a thing as it was."""

    place: str
    holds: int | None = None
    medium: str | None = None
    filled: date | None = None
    loop: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceRetired:
    """A place went out of service."""

    place: str
    why: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Began:
    """A planting began: struck, sown or brought in.

    tag : chosen by the desk when the entry is made, so that replay gives the same tags.
    started : None when the age is not known; never silently today.
    stage : the stage it is in on the day of the entry.
    rooted : how many are known to have roots, for plants that come rooted.
    """

    tag: str
    crop: str
    origin: Origin
    count: int
    place: str
    stage: Stage
    cultivar: str | None = None
    parent: str | None = None
    started: date | None = None
    started_give: int = 0
    rooted: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A stage was seen. `count` is how many plants show it; None means the planting as a whole."""

    tag: str
    stage: Stage
    count: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SetOutPart:
    """One part of a planting that was set out: where, how many, and the tag it gets."""

    place: str
    count: int
    tag: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SetOut:
    """Plants went to their places; a part with the planting's own tag took all that was left."""

    tag: str
    parts: tuple[SetOutPart, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A whole planting was moved to another place."""

    tag: str
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost:
    """Plants died, failed, or were given away or sold (`why` tells which)."""

    tag: str
    count: int
    why: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulled:
    """A planting was cleared from its place."""

    tag: str
    why: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Picked:
    """A crop was picked.

    amount : in the crop's own unit; None when not weighed.
    cleared : plants that went with the pick, as when heads are cut whole.
    """

    tag: str
    amount: float | None = None
    cleared: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """The cultivar of plantings was put right, for each tag given."""

    tags: tuple[str, ...]
    cultivar: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """A planting was chosen as a mother, barred from being one, or given over to insects.

    None leaves a mark as it is; an empty `barred_why` lifts the bar.
    """

    tag: str
    mother: bool | None = None
    barred_why: str | None = None
    by_insects: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tended:
    """The medium of places was changed, topped up, flushed or disinfected."""

    places: tuple[str, ...]
    care: Care
    medium: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fed:
    """The fish of a loop were fed. [g]"""

    loop: str
    grams: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drained:
    """Solids were drained from a loop's filter. [L]

    beds : places that were given them. vessel : they went to mineralise under air.
    """

    loop: str
    litres: float | None = None
    beds: tuple[str, ...] = ()
    vessel: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Tested:
    """The water of a loop was tested. Zero is a value; what was not tested is absent.

    values : by key: ph, ammonia, nitrite, nitrate [mg/L], temperature [°C], oxygen [mg/L].
    again : the extra test after a reading out of range; the routine test keeps its day.
    """

    loop: str
    values: Mapping[str, float] = field(default_factory=dict)
    again: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TemperaturesRead:
    """Air temperatures of a house, one or many days."""

    readings: tuple[DayTemperature, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """A turn of a duty was done, where no act of its own says so."""

    duty: str
    subjects: tuple[Subject, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Skipped:
    """A turn was answered without being done. Only `not_needed` restarts its interval."""

    duty: str
    subjects: tuple[Subject, ...]
    why: str
    not_needed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PutOff:
    """An open turn was put off to a later day; it keeps its identity."""

    duty: str
    subjects: tuple[Subject, ...]
    to: date


@dataclass(frozen=True, slots=True, kw_only=True)
class DutyAdded:
    """A duty of the grower's own was added."""

    duty: OwnDuty


@dataclass(frozen=True, slots=True, kw_only=True)
class DutySet:
    """The grower's own interval for a duty of the catalogue. None returns to the catalogue's."""

    duty: str
    every_days: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DutyStopped:
    """A duty is no longer wanted."""

    duty: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WentAway:
    """A time away was given ahead."""

    absence: Absence


@dataclass(frozen=True, slots=True, kw_only=True)
class SetBack:
    """Growth stood still in a house, for a crop or for all."""

    setback: Setback


@dataclass(frozen=True, slots=True, kw_only=True)
class Voided:
    """An earlier entry was a mistake; all that follows is as if it had not been written."""

    entry: int


Act = (
    HouseSet
    | LoopSet
    | LoopTurned
    | PlacesAdded
    | PlaceSet
    | PlaceRetired
    | Began
    | Seen
    | SetOut
    | Moved
    | Lost
    | Pulled
    | Picked
    | Named
    | Marked
    | Tended
    | Fed
    | Drained
    | Tested
    | Weighed
    | ToppedUp
    | Treated
    | WentWithout
    | TemperaturesRead
    | Done
    | Skipped
    | PutOff
    | DutyAdded
    | DutySet
    | DutyStopped
    | WentAway
    | SetBack
    | GoalSet
    | GoalDropped
    | SeasonAccepted
    | Voided
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line of the journal.

    id : counts from 1 in the order written; 0 until the record has given it one.
    happened : the day it happened, in the house. written : the moment it was written, UTC.
    by : who did it, when that was said. note : free text.
    """

    happened: date
    written: datetime
    act: Act
    id: int = 0
    by: str | None = None
    note: str | None = None
