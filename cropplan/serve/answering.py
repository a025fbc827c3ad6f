"""A form that was sent, as the answer it means."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from cropplan.desk import phone_answers
from cropplan.desk.desk import Desk
from cropplan.desk.keys import Key
from cropplan.desk.phone import harvest_unit
from cropplan.desk.phone_answers import Sent, Tick, task_keys
from cropplan.holding.planting import Stage
from cropplan.problems import Misuse
from cropplan.serve.words import POUND_KG, unit_of

_ID = re.compile(r"[A-Za-z0-9_-]{8,64}")
_AMOUNT = "amount-"
_LONGEST = 1000


@dataclass(frozen=True, slots=True)
class Form:
    """The fields of a form, by name."""

    fields: Mapping[str, Sequence[str]]

    def all(self, name: str) -> list[str]:
        """Every value of a field that is not blank."""
        return [value for value in self.fields.get(name, ()) if value.strip()]

    def one(self, name: str) -> str | None:
        """The value of a field; None when it is blank. Raises Misuse when there are several."""
        values = self.all(name)
        if len(values) > 1:
            raise Misuse(f"'{name}' was sent {len(values)} times; load the page again")
        if not values:
            return None
        if len(values[0]) > _LONGEST:
            raise Misuse(f"'{values[0][:20]}…' is longer than {_LONGEST} letters; say it shorter")
        return " ".join(values[0].split())

    def needed(self, name: str, what: str) -> str:
        """The value of a field that must be there. Raises Misuse."""
        value = self.one(name)
        if value is None:
            raise Misuse(f"{what} is missing")
        return value

    def day(self, name: str) -> date | None:
        """A day; None when the field is blank. Raises Misuse."""
        text = self.one(name)
        try:
            return None if text is None else date.fromisoformat(text)
        except ValueError:
            raise Misuse(f"'{text}' is no day; write it as 2026-03-04") from None


def answer(desk: Desk, key: Key, form: Form) -> tuple[Tick, ...]:
    """Do what a form says. Raises Misuse for a form that says nothing, Refusal for what cannot be.

    The fields are those of `templates/`; `what` says which answer it is.
    """
    sent = _sent(form)
    match form.one("what"):
        case "done":
            return _done(desk, key, form, sent)
        case "skip":
            why = form.one("why") or ""
            needless = form.one("needless") is not None
            return (phone_answers.skip(desk, key, sent, why=why, not_needed=needless),)
        case "later":
            to = form.day("to")
            if to is None:
                raise Misuse("the day to put it off to is missing")
            return (phone_answers.later(desk, key, sent, to=to),)
        case "seen":
            tag = form.needed("tag", "the plant")
            return (phone_answers.seen(desk, key, sent, tag, _stage(form)),)
        case "struck":
            return (_struck(desk, key, form, sent),)
        case "set-out":
            places = form.all("place")
            if not places:
                raise Misuse("say where they went")
            tag = form.needed("tag", "the plant")
            return (phone_answers.set_out(desk, key, sent, tag, places),)
        case "undo":
            return (_undone(desk, key, form, sent),)
    raise Misuse("the form does not say what was done; load the page again")


def _sent(form: Form) -> Sent:
    id_ = form.one("tick") or ""
    if not _ID.fullmatch(id_):
        raise Misuse("the answer has no name of its own; load the page again")
    return Sent(
        id=id_,
        handle=form.one("handle") or "",
        keys=task_keys("\n".join(form.all("key"))) if form.all("key") else (),
        day=form.day("day"),
        note=form.one("note"),
    )


def _stage(form: Form) -> Stage:
    word = form.needed("stage", "what was seen")
    try:
        return Stage(word)
    except ValueError:
        raise Misuse(f"'{word}' is no stage; load the page again") from None


def _done(desk: Desk, key: Key, form: Form, sent: Sent) -> tuple[Tick, ...]:
    """A tick; where amounts are given, a pick of each planting that has one."""
    weighed = {
        name.removeprefix(_AMOUNT): form.one(name)
        for name in form.fields
        if name.startswith(_AMOUNT)
    }
    given = {tag: text for tag, text in weighed.items() if text is not None}
    # A planting's own page has no line to tick: a pick from there counts without an amount too.
    if not given and (sent.keys or not weighed):
        return (phone_answers.tick(desk, key, sent),)
    amounts = {tag: _amount(desk, tag, text) for tag, text in (given or weighed).items()}
    return phone_answers.pick(desk, key, sent, amounts)


def _amount(desk: Desk, tag: str, text: str | None) -> float | None:
    if text is None:
        return None
    try:
        amount = float(text.replace(",", "."))
    except ValueError:
        amount = math.nan
    if not 0 <= amount < math.inf:
        raise Misuse(f"'{text}' is no amount; write such as 0.45")
    return amount * POUND_KG if unit_of(*harvest_unit(desk, tag)) == "lb" else amount


def _struck(desk: Desk, key: Key, form: Form, sent: Sent) -> Tick:
    text = form.needed("count", "how many were struck")
    if not text.isascii() or not text.isdigit() or not 0 < int(text) < 10_000:
        raise Misuse(f"'{text}' is no number of cuttings; write such as 4")
    return phone_answers.strike(
        desk,
        key,
        sent,
        parent=form.needed("tag", "the plant they were taken from"),
        count=int(text),
        place=form.needed("place", "where they stand"),
    )


def _undone(desk: Desk, key: Key, form: Form, sent: Sent) -> Tick:
    entry = form.one("entry")
    if entry is None:
        return phone_answers.undo_ticks(desk, key, sent.id, form.all("undo"))
    if not entry.isascii() or not entry.isdigit():
        raise Misuse(f"'{entry}' is no entry; load the page again")
    return phone_answers.undo_entry(desk, key, sent.id, int(entry))
