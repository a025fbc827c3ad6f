"""The pages behind a phone's or a neighbour's key."""

from __future__ import annotations

import hmac
import json
import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC
from functools import lru_cache
from http import HTTPStatus
from pathlib import Path
from urllib.parse import quote, urlencode

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from cropplan.desk import look, phone
from cropplan.desk.desk import Desk, today_in
from cropplan.desk.keys import Key, KeyKind
from cropplan.desk.labels import LABEL_PATH
from cropplan.desk.phone_answers import Tick, is_passing, sent_before
from cropplan.desk.terms import day_text, list_text, plants_text
from cropplan.holding.place import PlaceKind
from cropplan.problems import Misuse, Refusal
from cropplan.serve import picture, static, words
from cropplan.serve.answering import Form, answer
from cropplan.serve.exchange import COOKIE, Reply, Request, form_token, not_found, plainly

_HERE = Path(__file__).parent
#: Nothing from elsewhere, nothing in the page itself, and no other site may frame or be sent to.
_POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
    "frame-ancestors 'none'; base-uri 'none'"
)
_HEADERS: Mapping[str, str] = {
    "Content-Type": "text/html; charset=utf-8",
    "Content-Security-Policy": _POLICY,
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    # Not "no-referrer": with that a browser sends the forms of this very page with the Origin
    # "null" (Fetch, "append a request Origin header"), as a stranger's would be.
    "Referrer-Policy": "same-origin",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Visit:
    """One request to a page, with the desk and the key it came by."""

    desk: Desk
    key: Key
    request: Request
    rest: str

    @property
    def root(self) -> str:
        """The path that all pages of this key are under."""
        return f"/p/{quote(self.request.secret)}/"


class Pages:
    """Gives the reply to each path under a phone's or a neighbour's key."""

    def __init__(self) -> None:
        self._templates = _environment()
        self._picture = picture.SeasonPicture()
        self._phone: Mapping[str, Callable[[_Visit], Reply]] = {
            "": self._today,
            "week": self._week,
            "plants": self._plants,
            "plant": self._plant,
            "season": self._season,
            picture.FILE: self._season_picture,
        }
        self._neighbour: Mapping[str, Callable[[_Visit], Reply]] = {
            "": self._today,
            "sheet": self._sheet,
        }

    def answer(self, desk: Desk, key: Key, request: Request) -> Reply:
        """The reply to a request that came by a key which opens pages."""
        page, _, rest = request.rest.partition("/")
        visit = _Visit(desk=desk, key=key, request=request, rest=rest)
        if request.method == "POST":
            return self._answered(visit) if request.rest == "answer" else not_found()
        kept = static.reply(request, visit.root, title=_title(desk, key))
        if kept is not None:
            return kept
        shown = self._phone if key.kind is KeyKind.PHONE else self._neighbour
        if page not in shown or (rest and page != "plant"):
            return not_found()
        return shown[page](visit)

    # What is shown --------------------------------------------------------------------------

    def _today(self, visit: _Visit) -> Reply:
        shown = phone.today(visit.desk, visit.key)
        told = [
            sent_before(visit.desk, visit.key, id_) for id_ in visit.request.asked.get("told", ())
        ]
        return self._page(
            visit,
            "today.html",
            shown=shown,
            sections={
                one.house: words.sections(shown.lines[one.house], shown.on) for one in shown.rounds
            },
            told=[tick for tick in told if tick is not None],
            open_today=phone.is_open(visit.key, shown.on),
        )

    def _week(self, visit: _Visit) -> Reply:
        days = phone.week(visit.desk, visit.key)
        return self._page(visit, "week.html", days=days)

    def _plants(self, visit: _Visit) -> Reply:
        standing = [
            one
            for one in look.places(visit.desk, house=visit.key.house)
            if one.place.retired_on is None
        ]
        return self._page(visit, "plants.html", standing=standing)

    def _plant(self, visit: _Visit) -> Reply:
        page = phone.plant_page(visit.desk, visit.key, visit.rest)
        if page is None:
            return not_found()
        bearing = phone.is_bearing(page.life.planting)
        return self._page(visit, "plant.html", page=page, bearing=bearing)

    def _season(self, visit: _Visit) -> Reply:
        return self._page(visit, "season.html", plan=phone.season(visit.desk, visit.key))

    def _season_picture(self, visit: _Visit) -> Reply:
        if phone.season(visit.desk, visit.key) is None:
            return not_found()
        try:
            return self._picture.reply(visit.desk)
        except Refusal as fault:
            if is_passing(fault):
                raise
            # Nothing to draw with: the page says the same in words.
            return not_found()

    def _sheet(self, visit: _Visit) -> Reply:
        return self._page(visit, "sheet.html", work=phone.sheet(visit.desk, visit.key))

    # What is sent ---------------------------------------------------------------------------

    def _answered(self, visit: _Visit) -> Reply:
        request = visit.request
        try:
            form = Form(request.form)
        except ValueError:
            return plainly(HTTPStatus.BAD_REQUEST, "This is no form.")
        token = form.one("form") or ""
        expected = form_token(request.secret)
        if not (
            request.comes_from_here() and hmac.compare_digest(token.encode(), expected.encode())
        ):
            return plainly(HTTPStatus.FORBIDDEN, "This did not come from the page.")
        try:
            ticks = answer(visit.desk, visit.key, form)
        except (Misuse, Refusal) as fault:
            if is_passing(fault):
                raise
            return self._refused(visit, fault)
        return _accepted(visit, ticks)

    def _refused(self, visit: _Visit, fault: Misuse | Refusal) -> Reply:
        status = HTTPStatus.BAD_REQUEST if isinstance(fault, Misuse) else HTTPStatus.CONFLICT
        if visit.request.wants_json:
            return _json(status, {"refused": str(fault)})
        return self._page(visit, "refused.html", status=status, why=str(fault))

    def _page(
        self, visit: _Visit, template: str, *, status: int = HTTPStatus.OK, **shown: object
    ) -> Reply:
        houses = look.houses(visit.desk)
        today = today_in(visit.desk, houses[0])
        html = self._templates.get_template(template).render(
            root=visit.root,
            page_path=visit.request.rest,
            key=visit.key,
            form_token=form_token(visit.request.secret),
            version=static.version(),
            title=_title(visit.desk, visit.key),
            today=today,
            zone=houses[0].zone,
            units=houses[0].units,
            now=int(visit.desk.clock().astimezone(UTC).timestamp() * 1000),
            is_phone=visit.key.kind is KeyKind.PHONE,
            **shown,
        )
        headers = {**_HEADERS}
        if visit.key.kind is KeyKind.PHONE:
            headers["Set-Cookie"] = _cookie(visit.request)
        return Reply(status=status, body=html.encode(), headers=headers)


def _cookie(request: Request) -> str:
    """What lets this browser be led on from a label; it is sent for labels and nothing else.

    Lax, for a code is scanned outside the page. It opens nothing that changes anything.
    """
    secure = "; Secure" if request.encrypted else ""
    marks = f"Path=/{LABEL_PATH}/; HttpOnly; SameSite=Lax; Max-Age=31536000{secure}"
    return f"{COOKIE}={request.secret}; {marks}"


def _accepted(visit: _Visit, ticks: tuple[Tick, ...]) -> Reply:
    if visit.request.wants_json:
        said = [line for tick in ticks for line in tick.said]
        undoable = [tick.id for tick in ticks if tick.entries]
        return _json(HTTPStatus.OK, {"said": said, "ticks": undoable})
    # The page is then asked for anew, so that loading it again sends nothing a second time.
    told = urlencode([("told", tick.id) for tick in ticks])
    return Reply(
        status=HTTPStatus.SEE_OTHER,
        headers={"Location": f"{visit.root}?{told}", "Cache-Control": "no-store"},
    )


def _json(status: int, value: object) -> Reply:
    return Reply(
        status=status,
        body=json.dumps(value, ensure_ascii=False).encode(),
        headers={"Content-Type": "application/json", "Cache-Control": "no-store"},
    )


def _title(desk: Desk, key: Key) -> str:
    return key.house or list_text([house.name for house in look.houses(desk)])


@lru_cache(maxsize=1)
def _environment() -> Environment:
    templates = Environment(
        loader=FileSystemLoader(_HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    templates.filters |= {
        "day": day_text,
        "plants": plants_text,
        "reason": words.reason,
        "minutes": words.minutes,
        "daylight": words.daylight,
        "mass": words.mass,
        "harvest": words.harvest,
        "unit": words.unit_of,
        "stage": words.stage,
        "dated": words.dated,
        "written": words.told,
    }
    templates.globals |= {
        "new_id": lambda: secrets.token_urlsafe(12),
        "Ask": phone.Ask,
        "PlaceKind": PlaceKind,
    }
    return templates
