"""What calendars have been told against what falls due now: decides, and stores nothing.

The caller reads what was published, calls `compare`, stores what it returns as changed, and gives
what is live to `ical.render`. Everything ever published is kept, so that a task that comes back
is the same event to a phone and never a twin.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from uuid import UUID, uuid5

from cropplan.holding.notice import Notice, Published
from cropplan.ics.text import plain_notice
from cropplan.problems import BadData

WITHDRAWN = ""
"""Digest of a notice that has left the calendar and so shows nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Publishing:
    """What to write and what to remember.

    live : each notice shown with what calendars are told of it, by day and then by key.
    changed : what to store: the new, the revised and the withdrawn, by key.
    gone : keys of the notices that left since the last time, in order.
    """

    live: tuple[tuple[Notice, Published], ...]
    changed: tuple[Published, ...]
    gone: tuple[str, ...]


def compare(
    notices: Sequence[Notice],
    published: Mapping[str, Published],
    now: datetime,
    namespace: UUID,
    *,
    made: datetime | None = None,
) -> Publishing:
    """What calendars should be told, given all they have ever been told.

    published : by key, with those that have left too.
    now : with its time zone; what is new, revised or gone is stamped with it, or, where the clock
        was set back, a second after all that was told before, so that `feed_revised` moves.
    namespace : the record's own; with the key it makes the UID (RFC 7986 §5.3 asks for a UUID).
    made : when the record was made, which no stamp comes before; None for a record of now.
    Raises BadData when two notices have one key; ValueError when `now` has no time zone.
    """
    before = [old.stamp for old in published.values()] + ([made] if made else [])
    stamp = _later(now, max(before)) if before else _whole_seconds(now)
    live: list[tuple[Notice, Published]] = []
    seen: set[str] = set()
    for notice in map(plain_notice, notices):
        if notice.key in seen:
            raise BadData(f"calendar: two notices are both named '{notice.key}'; give it one")
        seen.add(notice.key)
        old = published.get(notice.key)
        told = _first(notice, stamp, namespace) if old is None else _again(notice, old, stamp)
        live.append((notice, told))
    left = [old for key, old in published.items() if key not in seen and old.digest != WITHDRAWN]
    changed = [told for _, told in live if told != published.get(told.key)]
    changed += [replace(old, digest=WITHDRAWN, stamp=stamp) for old in left]
    return Publishing(
        live=tuple(sorted(live, key=lambda pair: (pair[0].day, pair[0].key))),
        changed=tuple(sorted(changed, key=lambda told: told.key)),
        gone=tuple(sorted(old.key for old in left)),
    )


def feed_revised(published: Iterable[Published], *, made: datetime) -> datetime:
    """When the calendar as a whole was last revised: the latest stamp there is. [UTC]

    A pure removal counts: its notice stays among the published, stamped, though no event shows it.
    Without it a client that asks "modified since?" would keep the work that has gone.
    published : everything ever published, as stored after the last comparison.
    made : when the record was made, for a calendar that has never had anything to tell.
    """
    return max((told.stamp for told in published), default=_whole_seconds(made))


def _first(notice: Notice, stamp: datetime, namespace: UUID) -> Published:
    return Published(
        key=notice.key,
        uid=str(uuid5(namespace, f"task:{notice.key}")),
        sequence=0,
        created=stamp,
        stamp=stamp,
        digest=_digest(notice),
        day=notice.day,
        tentative=notice.tentative,
    )


def _again(notice: Notice, old: Published, stamp: datetime) -> Published:
    digest = _digest(notice)
    if digest == old.digest:
        return old
    # RFC 5546 §2.1.4: DTSTART, DTEND and STATUS raise SEQUENCE, words alone do not. It also
    # raises it for a cancellation, and leaving a feed is the only cancellation a feed has: a
    # client may have marked the event cancelled at the old number, and by §2.1.5 only a higher
    # one is sure to overrule that. So a notice that returns is raised even if it says the same.
    moved = (notice.day, notice.tentative) != (old.day, old.tentative)
    returns = old.digest == WITHDRAWN
    return replace(
        old,
        sequence=old.sequence + (1 if moved or returns else 0),
        stamp=stamp,
        digest=digest,
        day=notice.day,
        tentative=notice.tentative,
    )


def _digest(notice: Notice) -> str:
    shown = [
        notice.day.isoformat(),
        notice.summary,
        notice.text,
        notice.kinds,
        notice.tentative,
    ]
    return sha256(json.dumps(shown).encode()).hexdigest()


def _later(now: datetime, than: datetime) -> datetime:
    """`now`, or a second after `than` when the clock has not passed it or was set back.

    RFC 5546 §2.1.5 takes the latest DTSTAMP where SEQUENCE is equal, so a revision never bears
    a stamp that is not later than the one before.
    """
    return max(_whole_seconds(now), than + timedelta(seconds=1))


def _whole_seconds(now: datetime) -> datetime:
    # RFC 5545 §3.3.12 has no fraction of a second: stored and written must be the same.
    if now.tzinfo is None:
        raise ValueError("now must have a time zone")
    return now.astimezone(UTC).replace(microsecond=0)
