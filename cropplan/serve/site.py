"""What stands behind a key: a calendar, the pages of a phone, or a neighbour's errands."""

from __future__ import annotations

from http import HTTPStatus
from urllib.parse import quote

from cropplan.desk.desk import Desk
from cropplan.desk.keys import Key, KeyKind, let_in
from cropplan.desk.labels import LABEL_PATH, PLACE, PLANTING
from cropplan.desk.serving import Feeds
from cropplan.serve.exchange import Reply, Request, not_found, plainly
from cropplan.serve.feeds import FILE, feed_reply
from cropplan.serve.log import Log
from cropplan.serve.pages import Pages


class Site:
    """Gives every reply, from the desk, by key and path."""

    def __init__(self, log: Log) -> None:
        self.feeds = Feeds()
        self._pages = Pages()
        self._log = log
        self._warned: set[str] = set()

    def answer(self, desk: Desk, request: Request) -> Reply:
        """The reply to a request. Raises CropplanError when the record cannot answer now."""
        scanned = request.prefix == LABEL_PATH
        key = let_in(desk, request.remembered if scanned else request.secret)
        if key is None:
            return not_found()
        if scanned:
            return _led_on(key, request)
        if key.kind is KeyKind.FEED:
            return self._calendar(desk, key, request)
        if request.prefix != "p":
            return not_found()
        return self._pages.answer(desk, key, request)

    def _calendar(self, desk: Desk, key: Key, request: Request) -> Reply:
        if (request.prefix, request.rest) != ("f", FILE):
            return not_found()
        if request.method == "POST":
            return plainly(
                HTTPStatus.METHOD_NOT_ALLOWED, "A calendar is only read.", Allow="GET, HEAD"
            )
        feed = self.feeds.feed(desk, key)
        if feed.warning and feed.warning not in self._warned:
            self._warned.add(feed.warning)
            self._log.note(f"! {feed.warning}")
        return feed_reply(feed, request)


def _led_on(key: Key, request: Request) -> Reply:
    """From the code on a label to the page of the phone that has scanned it."""
    pages = {PLANTING: "plant/", PLACE: "plants#"}
    # What stands where a key does in other paths.
    about = request.secret
    if key.kind is not KeyKind.PHONE or about not in pages or request.method == "POST":
        return not_found()
    page = pages[about] + quote(request.rest)
    return Reply(
        status=HTTPStatus.SEE_OTHER,
        headers={
            "Location": f"/p/{quote(request.remembered)}/{page}",
            "Cache-Control": "no-store",
        },
    )
