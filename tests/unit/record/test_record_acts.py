"""Acts and other values as they are written down."""

from __future__ import annotations

from datetime import datetime
from typing import get_args

import pytest
from record_builders import struck

from cropplan.holding.entry import Act, Drained, Fed, Moved, PlacesAdded, SetOut, SetOutPart
from cropplan.holding.place import PlaceKind
from cropplan.problems import Refusal
from cropplan.record import acts
from cropplan.record.plain import Unreadable, codec


def test_every_act_of_the_journal_has_one_word_to_be_kept_by() -> None:
    """An act without a word could be entered and never read back (record/acts.py)."""
    assert set(acts.KINDS.values()) == set(get_args(Act))
    assert len(set(acts.KINDS.values())) == len(acts.KINDS)


def test_the_words_of_acts_are_those_of_the_first_release() -> None:
    """A word once written in a grower's record is never renamed; new ones may be added."""
    first = (
        "house loop loop-turned places place place-retired began seen set-out moved lost pulled "
        "picked named marked tended fed drained tested temperatures done skipped put-off "
        "duty-added duty-set duty-stopped away set-back goal goal-dropped season-accepted voided"
    )
    assert set(first.split()) <= set(acts.KINDS)


def test_a_body_written_before_a_field_existed_takes_its_default() -> None:
    """Records of any release open in the next, so a new field needs a default."""
    assert acts.from_text("fed", '{"loop":"tank"}') == Fed(loop="tank", grams=None)


BAD_BODIES = {
    "no such act": ("grafted", "{}", "'grafted'"),
    "not JSON": ("fed", "{loop", "not JSON"),
    "not an object": ("fed", "[1]", "[1] is not an object"),
    "field missing": ("fed", '{"grams":2.0}', "'loop' is missing"),
    "field unknown": ("fed", '{"loop":"tank","grains":2}', "'grains' is not known"),
    "text for a number": ("fed", '{"loop":"tank","grams":"2"}', "grams: '2' is not a number"),
    "yes for a number": ("fed", '{"loop":"tank","grams":true}', "grams: True is not a number"),
    "part for a whole": ("lost", '{"tag":"tom1","count":1.5}', "count: 1.5 is not a whole number"),
    "yes for a whole": ("lost", '{"tag":"tom1","count":true}', "count: True is not a whole number"),
    "number for text": ("drained", '{"loop":7}', "loop: 7 is not text"),
    "word not in the list": ("loop-turned", '{"loop":"tank","state":"dry"}', "'dry' is none of"),
    "no day": ("put-off", '{"duty":"d","subjects":[],"to":"4/3"}', "to: '4/3' is not a day"),
    "no subject": ("done", '{"duty":"d","subjects":["tom1"]}', "'tom1' is not a subject"),
    "no list": ("named", '{"tags":"tom1","cultivar":null}', "tags: 'tom1' is not a list"),
    "no mapping": ("tested", '{"loop":"tank","values":[1]}', "values: [1] is not an object"),
    "neither yes nor no": (
        "skipped",
        '{"duty":"d","subjects":[],"why":"w","not_needed":1}',
        "not_needed: 1 is neither",
    ),
}


@pytest.mark.parametrize(("kind", "body", "said"), BAD_BODIES.values(), ids=BAD_BODIES.keys())
def test_a_body_that_cannot_be_read_names_the_field_and_the_value(
    kind: str, body: str, said: str
) -> None:
    """No silent conversion: what is stored is what its place calls for, or it is told."""
    with pytest.raises(Unreadable) as told:
        acts.from_text(kind, body)
    assert said in str(told.value)


@pytest.mark.parametrize(
    ("act", "said"),
    [
        (Fed(loop="tank", grams=float("inf")), "inf"),
        (Fed(loop="tank", grams=float("nan")), "nan"),
        (Moved(tag="tom1", place="B\udce9"), "not Unicode"),
        (PlacesAdded(codes=("B1",), house="h", kind=PlaceKind.BED, holds=2**63), str(2**63)),
    ],
)
def test_what_no_record_can_hold_is_refused_when_written(act: Act, said: str) -> None:
    """Infinity is not JSON, a byte that is not UTF-8 is not text, SQLite's numbers have 64 bits."""
    with pytest.raises(Refusal, match=said):
        acts.to_text(act)


def test_a_moment_without_a_time_zone_is_never_written() -> None:
    """Moments are kept in UTC; one of unknown zone would be hours wrong without a sign of it."""
    with pytest.raises(ValueError, match="no time zone"):
        codec(datetime).write(datetime(2026, 3, 1, 7))  # noqa: DTZ001 - the fault under test
    with pytest.raises(Unreadable, match="no time zone"):
        codec(datetime).read("2026-03-01T07:00:00")


def test_an_act_is_found_under_every_planting_it_touches() -> None:
    """A cutting is part of its mother's story, and each part of a tray part of the tray's."""
    parts = (
        SetOutPart(place="B1", count=1, tag="tom8"),
        SetOutPart(place="B2", count=1, tag="tom7"),
    )
    assert acts.tags_in(SetOut(tag="tom7", parts=parts)) == ("tom7", "tom8")
    assert acts.tags_in(struck("tom9", parent="tom7").act) == ("tom9", "tom7")
    assert acts.tags_in(Drained(loop="tank")) == ()


def test_an_act_is_named_in_the_words_of_the_trade() -> None:
    """The name stands in the refusal of an undo, to tell which later entry is in the way."""
    assert acts.told(SetOut(tag="tom7", parts=())) == "set out tom7"
    places = PlacesAdded(codes=("B1", "B2"), house="h", kind=PlaceKind.BED)
    assert acts.told(places) == "places B1"
    assert acts.told(Drained(loop="tank")) == "drained tank"


def test_a_type_that_no_noun_uses_has_no_way_to_be_written() -> None:
    """A new kind of field needs a decision here, not a silent guess."""
    with pytest.raises(TypeError, match="complex"):
        codec(complex)
