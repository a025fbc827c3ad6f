"""When a remark that goes on being true is said: once when it is news, then again each Monday."""

from __future__ import annotations

from datetime import date, timedelta

from cropplan.schedule.scene import Scene

_DAY = timedelta(days=1)


def unread_from(scene: Scene) -> date:
    """The first day whose list may not have been read: the one after the last written entry.

    Who wrote something was in the house that day. Today's list counts as unread.
    """
    last = scene.holding.last_entry
    return scene.today if last is None else min(scene.today, last + _DAY)


def told_before(scene: Scene) -> date:
    """The latest day by whose evening a remark must have been true to have been read already.

    What came of a day's own entries was not yet in that morning's list.
    """
    return unread_from(scene) - 2 * _DAY


def to_be_said(scene: Scene, since: date | None) -> bool:
    """Whether a remark that has been true since a day is said today.

    since : None when nobody knows; then it waits for Monday, when all that still holds is said.
    A Monday whose list was not read is made up for on the next day.
    """
    monday = scene.today - timedelta(days=scene.today.weekday())
    return monday >= unread_from(scene) or (since is not None and since > told_before(scene))
