"""One piece of work that falls due, and the key that names it for ever."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import Enum, IntEnum

from cropplan.holding.span import Basis


class SubjectKind(Enum):
    """What a duty is about."""

    PLANTING = "planting"
    PLACE = "place"
    LOOP = "loop"
    HOUSE = "house"
    PLAN = "plan"


@dataclass(frozen=True, slots=True, order=True)
class Subject:
    """The thing a task is done to: a kind and the code or name of the thing."""

    kind_value: str
    code: str

    @property
    def kind(self) -> SubjectKind:
        """The kind of thing."""
        return SubjectKind(self.kind_value)

    def __str__(self) -> str:
        return f"{self.kind_value}:{self.code}"


def subject(kind: SubjectKind, code: str) -> Subject:
    """The subject of that kind with that code."""
    return Subject(kind.value, code)


def read_subject(text: str) -> Subject:
    """The subject written as `kind:code`; ValueError when the kind is unknown."""
    kind, _, code = text.partition(":")
    return Subject(SubjectKind(kind).value, code)


@dataclass(frozen=True, slots=True, order=True)
class TaskKey:
    """Duty + subject + turn number: it stays when the day moves, so a phone never sees a twin."""

    duty: str
    subject: Subject
    turn: int

    def __str__(self) -> str:
        return f"{self.duty}/{self.subject}/{self.turn}"


def read_key(text: str) -> TaskKey:
    """The key written as `duty/kind:code/turn`; ValueError when it is none."""
    duty, _, rest = text.partition("/")
    about, _, turn = rest.rpartition("/")
    return TaskKey(duty, read_subject(about), int(turn))


class Part(Enum):
    """The part of the day a task belongs to."""

    MORNING = "morning"
    MIDDAY = "midday"
    EVENING = "evening"
    ANY = "any"


class Keeps(Enum):
    """What becomes of a missed turn: a daily look lapses, rarer work stays until answered."""

    LAPSES = "lapses"
    STAYS = "stays"


class Rank(IntEnum):
    """What comes first when there are more tasks than minutes."""

    FISH = 0
    WATER = 1
    NOW_OR_LOST = 2
    WEAR = 3
    TIDY = 4


class State(Enum):
    """Where a task stands against today."""

    LATE = "late"
    TODAY = "today"
    COMING = "coming"


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One turn of one duty on one subject.

    due : the day to do it. earliest, latest : the window in which doing it does the job.
    state : against the day the list was made for.
    thing : what the job names: the crop's id, the loop, the house or the medium.
    places : codes where it is done, in walking order.
    plants : how many plants or things it concerns. minutes : estimate for this task alone.
    survival : must be done even while the grower is away.
    pattern : the words of the work, as `in_words` reads them.
    why : its reason, the same words on every face.
    cautions : ids of cautions in the catalogue.
    """

    key: TaskKey
    code: str
    thing: str
    house: str
    places: tuple[str, ...]
    due: date
    earliest: date
    latest: date
    state: State
    basis: Basis
    part: Part
    rank: Rank
    keeps: Keeps
    plants: int
    minutes: float
    survival: bool
    pattern: str
    why: str
    cautions: tuple[str, ...] = ()

    @property
    def job(self) -> str:
        """The work in words."""
        return in_words(self.pattern, self.plants)


def in_words(pattern: str, count: int) -> str:
    """The words of work on so many: `{n}` stands for how many, `{s}` for the ending of more."""
    return pattern.replace("{n}", str(count)).replace("{s}", "" if count == 1 else "s")
