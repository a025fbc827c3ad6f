"""The picture of the season, drawn once a change."""

from __future__ import annotations

from http import HTTPStatus
from pathlib import Path
from tempfile import TemporaryDirectory

from cropplan.desk.desk import Desk
from cropplan.desk.phone import today_for
from cropplan.serve.exchange import Reply

FILE = "season.svg"


class SeasonPicture:
    """Keeps the picture until the record or the day changes, for drawing it takes a second."""

    def __init__(self) -> None:
        self._state: tuple[object, ...] | None = None
        self._drawn = b""

    def reply(self, desk: Desk) -> Reply:
        """The picture. Raises Refusal when there is no plan, or nothing to draw with."""
        state = (desk.record.path.stat().st_ino, desk.record.revision, today_for(desk))
        if state != self._state:
            from cropplan.desk.pictures import season_picture

            with TemporaryDirectory(prefix="season-") as room:
                file = Path(room) / FILE
                season_picture(desk, file)
                self._drawn = file.read_bytes()
            self._state = state
        return Reply(
            status=HTTPStatus.OK,
            body=self._drawn,
            headers={
                "Content-Type": "image/svg+xml",
                "Cache-Control": "private, no-cache",
                # Should somebody open it by itself: a drawing, never a page that runs.
                "Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'; sandbox",
            },
        )
