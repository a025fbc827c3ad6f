"""Where plants stand, and what they stand in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import Enum


class PlaceKind(Enum):
    """The kinds of place a plant can stand in."""

    BUCKET = "bucket"
    CHANNEL = "channel"
    HOLE = "hole"
    BED = "bed"
    TRAY = "tray"
    POT = "pot"


class Care(Enum):
    """What can be done to a place's medium. Only a change restarts its age."""

    CHANGE = "change"
    TOP_UP = "top-up"
    FLUSH = "flush"
    DISINFECT = "disinfect"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One place: a bucket, a channel site, a raft hole, a bed, a tray, a pot.

    code : short and unique in the record, as on the label ("B3").
    holds : how many plants it takes.
    medium : id of the medium in the catalogue; None when there is none to renew.
    filled : day the medium was last changed; None when not known.
    loop : the water that feeds it; None when watered by hand.
    walk : position in the walking order of its house, from 1.
    solids_on : day on which drained fish solids were last used here.
    disease_on : day a diseased crop was pulled from it, until its medium is changed or disinfected.
    retired_on : day it went out of service; None while in use.
    """

    code: str
    house: str
    kind: PlaceKind
    holds: int = 1
    medium: str | None = None
    filled: date | None = None
    loop: str | None = None
    walk: int = 1
    disease_on: date | None = None
    retired_on: date | None = None
    solids_on: date | None = None
