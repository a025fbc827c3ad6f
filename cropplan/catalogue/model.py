"""The catalogue's values: a figure with its source, a crop, a medium, a fish, a duty, a caution."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.task import Keeps, Part, Rank, SubjectKind


class Trust(Enum):
    """How a figure is known."""

    READ = "read"
    MEMORY = "memory"
    PRACTICE = "practice"
    OWN = "own"


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One quantity of the trade.

    low, typical, high : in `unit`; low and high are None when the source gives one value.
    at : the conditions it holds for, in words. at_c : the temperature of those conditions. [°C]
    points : measured (temperature [°C], value) pairs, rising; empty when not measured so.
    light_enough : daily light below which the stage waits, where the source says that light
        slows it; None where it does not. [mol m⁻² d⁻¹]
    base_c, ceiling_c : thresholds of a thermal time, for unit "degC d". [°C]
    source : id in sources.toml. trust : read there, from memory, or common practice.
    """

    typical: float
    unit: str
    source: str
    trust: Trust
    low: float | None = None
    high: float | None = None
    at: str | None = None
    at_c: float | None = None
    points: tuple[tuple[float, float], ...] = ()
    base_c: float | None = None
    ceiling_c: float | None = None
    light_enough: float | None = None
    note: str | None = None

    @property
    def least(self) -> float:
        """The low end, or the typical value when the source gives one value only."""
        return self.typical if self.low is None else self.low

    @property
    def most(self) -> float:
        """The high end, or the typical value when the source gives one value only."""
        return self.typical if self.high is None else self.high


class Habit(Enum):
    """How a crop gives: fruit over a long time, leaves again and again, or one head."""

    FRUIT = "fruit"
    LEAF = "leaf"
    HEAD = "head"


class Pollination(Enum):
    """What the flowers need from the grower's hand."""

    SHAKE = "shake"
    FLICK = "flick"
    BRUSH = "brush"
    TRANSFER = "transfer"
    NONE = "none"
    FORBIDDEN = "forbidden"


@dataclass(frozen=True, slots=True, kw_only=True)
class Crop:
    """One crop of the catalogue.

    tag : the letters its plantings' tags begin with; unique in the catalogue.
    ways : the ways it is started here, the usual one first.
    places : kinds of place it stands in when set out.
    pollination_why : what to do with the flowers, or why nothing must be done.
    pick_unit : unit of its harvest: "kg", "pieces" or "bunches".
    values : figures by key, as listed in `catalogue.keys`.
    """

    id: str
    name: str
    plural: str
    tag: str
    family: str
    habit: Habit
    ways: tuple[Origin, ...]
    places: tuple[PlaceKind, ...]
    pollination: Pollination
    pollination_why: str
    pick_unit: str
    values: Mapping[str, Figure]
    aliases: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Medium:
    """A growing medium: how long it lasts and how it may be used again."""

    id: str
    name: str
    values: Mapping[str, Figure] = field(default_factory=dict)
    reuse: str | None = None
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Fish:
    """A species of fish: its water, its ration."""

    id: str
    name: str
    values: Mapping[str, Figure] = field(default_factory=dict)
    note: str | None = None


class Trigger(Enum):
    """What makes a duty's work fall due.

    INTERVAL : every so often while the subject is in one of its stages.
    WATCH : looked for from the predicted day of a stage on, and again, until that stage is seen.
    GIVE_UP : once, when cuttings have waited so long that few of them can still root.
    REPLACE : once for each ageing planting, counted back from the end of its picking.
    TOP : once, so long before the end of picking that the last fruit still ripens.
    PULL : once, when the planting is spent.
    MEDIUM : when a place's medium has aged, kept for the gap between crops.
    DISEASE : when a diseased crop was pulled from a place, until that is clean.
    FINDING : when what was read, added or left in the water calls for it, until that is answered.
    """

    INTERVAL = "interval"
    WATCH = "watch"
    GIVE_UP = "give-up"
    REPLACE = "replace"
    TOP = "top"
    PULL = "pull"
    MEDIUM = "medium"
    DISEASE = "disease"
    FINDING = "finding"


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """A rule that makes work: while *what* is true, do *this* every *so often*.

    code : two letters, unique; every handle of the duty begins with them.
    job : the words of the task; `{crop}` and `{thing}` stand for what it is done to, in the
        plural, `{name}` for the crop in the singular, `{n}` for how many, `{s}` for more than one.
    every : the interval; None when it comes from the crop's own figure named by `every_key`.
    again : days until a watch is asked again. [d]
    stages : for plantings, the stages in which it is asked for.
    awaits : the stage a WATCH waits for.
    origins : only plantings begun in one of these ways; empty for all.
    habits : only crops of these habits; empty for all.
    pollinations : only crops whose flowers need one of these; empty for all.
    first_after : days from the start of the condition to the first turn; None for one interval.
    minutes_each : per plant, place or thing. [min]
    survival : must be done even while the grower is away.
    with_fish : loop duties that make sense only while the loop is stocked.
    in_calendar : worth a day on the phone; daily looks are not.
    """

    id: str
    code: str
    job: str
    subject: SubjectKind
    trigger: Trigger
    part: Part
    keeps: Keeps
    rank: Rank
    minutes_each: float
    every: Figure | None = None
    every_key: str | None = None
    again: int = 7
    stages: frozenset[Stage] = frozenset()
    awaits: Stage | None = None
    origins: frozenset[Origin] = frozenset()
    habits: frozenset[Habit] = frozenset()
    pollinations: frozenset[Pollination] = frozenset()
    first_after: int | None = None
    survival: bool = False
    with_fish: bool = False
    in_calendar: bool = False
    cautions: tuple[str, ...] = ()
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """The usual warning that travels with a task where work can hurt someone."""

    id: str
    text: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where figures come from."""

    id: str
    cite: str
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """What was read of the catalogue: only the crops asked for, and all that is small.

    waters : figures of the water, the filters and the loop as a whole, by the name of their table,
        as "water.plants"; none where no fish was asked for.
    """

    crops: Mapping[str, Crop]
    media: Mapping[str, Medium]
    fish: Mapping[str, Fish]
    duties: Mapping[str, Duty]
    cautions: Mapping[str, Caution]
    waters: Mapping[str, Mapping[str, Figure]] = field(default_factory=dict)
