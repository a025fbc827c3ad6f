"""What goes over the wire to a calendar server, and what its odder answers are taken for."""

from __future__ import annotations

import logging
import time
from pathlib import Path

import pytest

from cropplan.sync import wire as wire_module
from cropplan.sync.caldav import CalDavList
from cropplan.sync.discovery import find
from cropplan.sync.storage import (
    NotAllowed,
    Rejected,
    Stale,
    SyncTrouble,
    TokenRefused,
    UidTaken,
    Unreachable,
)
from cropplan.sync.webdav import path_of
from cropplan.sync.wire import Wire, is_private
from tests.unit.sync.dav_stub import (
    LISTS,
    Answer,
    Asked,
    Says,
    error,
    etag,
    hosted,
    is_now,
    many,
    stub,
)

SECRET = "under-the-bench-7"  # noqa: S105 - of a stub


def always(says: Says) -> Answer:
    """The same answer to everything."""
    return lambda _: says


def list_at(url: str) -> CalDavList:
    """A list at the stub's /list/."""
    return CalDavList(Wire(url, "ivy", SECRET), f"{url}list/", "Work")


# The password --------------------------------------------------------------------------------


def asks_for(scheme: str) -> Answer:
    """Wants to know who asks, and then answers."""

    def answer(asked: Asked) -> Says:
        if "authorization" in asked.headers:
            return Says(body=many(upto="t1"))
        return Says(status=401, headers={"WWW-Authenticate": scheme})

    return answer


def test_no_password_is_sent_before_the_server_asks_for_it() -> None:
    """Then it goes as the server wants it, once a connection."""
    with stub(asks_for('Basic realm="x"')) as server:
        storage = list_at(server.url)
        storage.look(None)
        storage.look(None)
        seen = [asked.headers.get("authorization", "") for asked in server.asked]
    assert seen[0] == ""
    assert [one.partition(" ")[0] for one in seen[1:]] == ["Basic", "Basic"]


def test_where_digest_is_offered_the_password_itself_is_never_sent() -> None:
    """RFC 7616: a digest of it is; servers that offer both get the digest."""
    both = 'Basic realm="x", Digest realm="x", qop="auth", nonce="n1", algorithm=MD5'
    with stub(asks_for(both)) as server:
        list_at(server.url).look(None)
        assert server.asked[-1].headers["authorization"].startswith("Digest ")
        assert all("Basic" not in asked.headers.get("authorization", "") for asked in server.asked)


def test_a_password_that_lies_in_the_users_home_is_not_sent_unasked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The HTTP library would look for one in ~/.netrc by itself."""
    netrc = tmp_path / "netrc"
    netrc.write_text("machine 127.0.0.1 login somebody password else\n")
    monkeypatch.setenv("NETRC", str(netrc))
    with stub(always(Says(body=many(upto="t1")))) as server:
        list_at(server.url).look(None)
        assert all("authorization" not in asked.headers for asked in server.asked)


def test_a_wrong_password_is_said_without_the_password(caplog: pytest.LogCaptureFixture) -> None:
    """Neither in the message nor in any line of a log, however much is logged."""
    caplog.set_level(logging.DEBUG)
    refusing = always(Says(status=401, headers={"WWW-Authenticate": "Basic"}))
    with stub(refusing) as server, pytest.raises(NotAllowed) as told:
        list_at(server.url).look(None)
    assert "does not let 'ivy' in" in str(told.value)
    assert "CROPPLAN_CALDAV_PASSWORD" in str(told.value)
    assert SECRET not in str(told.value) + caplog.text


# Where it goes -------------------------------------------------------------------------------


def test_a_server_that_has_moved_within_its_house_is_followed_with_the_same_question() -> None:
    """RFC 9110 §15.4 lets clients turn some of these into a GET; a REPORT must stay one."""

    def answer(asked: Asked) -> Says:
        if asked.path.startswith("/list"):
            return Says(status=301, headers={"Location": "/moved/"})
        return Says(body=many(upto="t1"))

    with stub(answer) as server:
        assert list_at(server.url).look(None).whole
        assert [asked.method for asked in server.asked] == ["REPORT", "REPORT"]
        assert server.asked[0].body == server.asked[1].body != ""


def test_a_password_is_not_taken_to_another_server() -> None:
    """A redirect to elsewhere is said, and not followed."""
    away = always(Says(status=302, headers={"Location": "http://localhost:9/"}))
    with stub(away) as server, pytest.raises(SyncTrouble, match="http://localhost:9/"):
        list_at(server.url).look(None)


def test_a_server_that_goes_round_in_circles_is_left() -> None:
    """After a few turns."""
    circle = always(Says(status=308, headers={"Location": "/list/"}))
    with stub(circle) as server, pytest.raises(SyncTrouble, match="on and on"):
        list_at(server.url).look(None)


@pytest.mark.parametrize(
    ("address", "private"),
    [
        ("https://dav.example/", True),
        ("http://127.0.0.1:5232/", True),
        ("http://[::1]:5232/", True),
        ("http://localhost:5232/", True),
        ("http://192.168.1.7:5232/", False),
        ("http://dav.example/", False),
    ],
)
def test_an_address_without_encryption_is_private_only_on_this_machine(
    address: str, private: bool
) -> None:
    """On any other way the password could be read."""
    assert is_private(address) == private


# What cannot be asked ------------------------------------------------------------------------


def test_a_server_that_is_not_there_is_said_so_and_what_follows() -> None:
    """One line: which server, and that nothing is lost."""
    with stub(always(Says())) as server:
        url = server.url
    with pytest.raises(Unreachable, match=r"127\.0\.0\.1:\d+ cannot be reached.*goes on from here"):
        list_at(url).look(None)


@pytest.mark.parametrize("status", [429, 502, 503, 504])
def test_a_busy_server_is_left_alone_for_a_while(status: int) -> None:
    """It is not asked three hundred times more."""
    with stub(always(Says(status=status))) as server:
        storage = list_at(server.url)
        with pytest.raises(Unreachable, match="too busy"):
            storage.create("/list/1.ics", b"x")


def test_a_server_that_never_answers_is_not_waited_for_for_ever(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """There is an end to patience."""

    def slow(_: Asked) -> Says:
        time.sleep(0.5)
        return Says()

    monkeypatch.setattr(wire_module, "PATIENCE", (0.2, 0.1))
    with stub(slow) as server, pytest.raises(Unreachable, match="does not answer"):
        list_at(server.url).look(None)


def test_an_answer_without_end_is_not_read_to_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """Memory stays bounded."""
    monkeypatch.setattr(wire_module, "LONGEST", 10_000)
    with (
        stub(always(Says(body="x" * 200_000))) as server,
        pytest.raises(Unreachable, match="answers without end"),
    ):
        list_at(server.url).look(None)


@pytest.mark.parametrize(
    "body",
    [
        "<html>Welcome",
        '<!DOCTYPE b [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]><b>&b;</b>',
        "",
    ],
)
def test_what_is_no_calendar_server_is_said_to_be_none(body: str) -> None:
    """A captive portal, a web page; and entities that grow are never unfolded."""
    with (
        stub(always(Says(body=body))) as server,
        pytest.raises(SyncTrouble, match="is its address"),
    ):
        list_at(server.url).look(None)


# Changes -------------------------------------------------------------------------------------


def test_an_account_of_changes_that_comes_in_pieces_is_read_to_its_end() -> None:
    """RFC 6578 §3.6: 507 of the collection itself means there is more."""

    def answer(asked: Asked) -> Says:
        if "<D:sync-token>t1</D:sync-token>" in asked.body:
            return Says(
                body=many(etag("/list/2.ics", '"b"'), is_now("/list/1.ics", 404), upto="t2")
            )
        return Says(body=many(etag("/list/1.ics", '"a"'), is_now("/list/", 507), upto="t1"))

    with stub(answer) as server:
        listing = list_at(server.url).look(None)
    assert listing.etags == {"/list/2.ics": '"b"'}
    assert (listing.removed, listing.token, listing.whole) == ({"/list/1.ics"}, "t2", True)


def test_a_server_whose_changes_never_end_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """It says there is more, each time."""
    monkeypatch.setattr("cropplan.sync.caldav._MOST_PIECES", 5)
    endless = always(Says(body=many(is_now("/list/", 507), upto="t")))
    with stub(endless) as server, pytest.raises(SyncTrouble, match="never comes to the end"):
        list_at(server.url).look(None)


@pytest.mark.parametrize("status", [400, 403, 405, 501])
def test_a_server_that_keeps_no_account_is_read_whole_each_time(status: int) -> None:
    """RFC 4918's PROPFIND is enough; slower, and as right."""

    def answer(asked: Asked) -> Says:
        if asked.method == "REPORT":
            return Says(status=status)
        return Says(body=many(etag("/list/", '"c"'), etag("/list/1.ics", '"a"')))

    with stub(answer) as server:
        listing = list_at(server.url).look(None)
    assert listing.etags == {"/list/1.ics": '"a"'}
    assert (listing.whole, listing.token) == (True, None)


@pytest.mark.parametrize("status", [403, 409, 410])
def test_a_token_is_refused_in_whichever_way_the_server_says_it(status: int) -> None:
    """RFC 6578 §3.2 allows 403 and 409; 410 has been seen."""
    with (
        stub(always(Says(status=status, body=error("<D:valid-sync-token/>")))) as server,
        pytest.raises(TokenRefused),
    ):
        list_at(server.url).look("t0")


def test_a_list_that_is_gone_is_said_with_what_to_type() -> None:
    """It is not taken for a list that was emptied."""
    with (
        stub(always(Says(status=404))) as server,
        pytest.raises(SyncTrouble, match=r"'Work' is no longer on .* --make"),
    ):
        list_at(server.url).look(None)


@pytest.mark.parametrize("method", ["look", "read"])
def test_a_list_that_cannot_be_read_is_said(method: str) -> None:
    """With the status, to look it up."""
    with stub(always(Says(status=500))) as server:
        storage = list_at(server.url)
        ask = {"look": lambda: storage.look(None), "read": lambda: storage.read(["/list/1.ics"])}
        with pytest.raises(SyncTrouble, match=r"cannot be read .500"):
            ask[method]()


@pytest.mark.parametrize(
    ("href", "path"),
    [
        ("https://dav.example/list/a%40b.ics", "/list/a@b.ics"),
        ("/list/a@b.ics", "/list/a@b.ics"),
        ("/list/caf%c3%a9.ics", "/list/caf%C3%A9.ics"),
        ("/list/café.ics", "/list/caf%C3%A9.ics"),
        ("/list/two%20words.ics", "/list/two%20words.ics"),
    ],
)
def test_an_address_is_known_however_the_server_writes_it(href: str, path: str) -> None:
    """RFC 3986 §6.2.2: the same octets, quoted or not, with or without the server's name."""
    assert path_of(href) == path


def test_what_an_answer_leaves_out_is_asked_for_alone_before_it_counts_as_gone() -> None:
    """RFC 4791 §7.9 wants a word on each; a short answer must not look like removals."""

    def answer(asked: Asked) -> Says:
        if asked.method == "REPORT":
            return Says(body=many(etag("/list/1.ics", '"a"'), is_now("/list/2.ics", 404)))
        if asked.path == "/list/1.ics":
            return Says(status=200, headers={"ETag": '"a"'}, body="BEGIN:VCALENDAR")
        return Says(status=410)

    with stub(answer) as server:
        (one,) = list_at(server.url).read(["/list/1.ics", "/list/2.ics", "/list/3.ics"])
        alone = {asked.path for asked in server.asked if asked.method == "GET"}
    assert (one.path, one.etag, one.content) == ("/list/1.ics", '"a"', b"BEGIN:VCALENDAR")
    assert alone == {"/list/1.ics", "/list/3.ics"}


def test_a_copy_that_will_not_be_given_stops_the_run() -> None:
    """It is there, so it is not gone; what it says is not known."""

    def answer(asked: Asked) -> Says:
        return Says(body=many()) if asked.method == "REPORT" else Says(status=500)

    with stub(answer) as server, pytest.raises(SyncTrouble, match="cannot be read"):
        list_at(server.url).read(["/list/1.ics"])


# Writing -------------------------------------------------------------------------------------


def test_each_write_states_what_it_found() -> None:
    """RFC 4791 §5.3.2: a create with If-None-Match: *, all else with If-Match."""
    with stub(always(Says(status=201))) as server:
        storage = list_at(server.url)
        storage.create("/list/1.ics", b"BEGIN:VCALENDAR")
        storage.replace("/list/1.ics", b"BEGIN:VCALENDAR", '"a"')
        storage.remove("/list/1.ics", '"b"')
        sent = [
            (one.method, one.headers.get("if-none-match"), one.headers.get("if-match"))
            for one in server.asked
        ]
        assert server.asked[0].headers["content-type"] == "text/calendar; charset=utf-8"
    assert sent == [("PUT", "*", None), ("PUT", None, '"a"'), ("DELETE", None, '"b"')]


REFUSALS = [
    (412, "", Stale, "not as it was read"),
    (404, "", Stale, "not as it was read"),
    (409, error("<C:no-uid-conflict/>"), UidTaken, "same UID"),
    (403, "", NotAllowed, "'ivy' may not change the list 'Work'.*--calendar NAME"),
    (403, error("<D:need-privileges/>"), NotAllowed, "may not change"),
    (405, "<html>", NotAllowed, "may not change"),
    (403, error("<C:valid-calendar-data/>"), Rejected, "valid calendar data"),
    (403, error("<C:max-resource-size/>"), Rejected, "max resource size"),
    (415, "", Rejected, "415"),
    (500, "oops", Rejected, "500"),
    (403, '<!DOCTYPE x><D:error xmlns:D="DAV:"/>', NotAllowed, "may not change"),
]


@pytest.mark.parametrize(("status", "body", "fault", "said"), REFUSALS)
def test_each_refusal_is_told_apart(
    status: int, body: str, fault: type[SyncTrouble], said: str
) -> None:
    """Of one resource, of the whole list, or of a state that has passed (RFC 4791 §5.3.2.1)."""
    with (
        stub(always(Says(status=status, body=body))) as server,
        pytest.raises(fault, match=said) as told,
    ):
        list_at(server.url).create("/list/1.ics", b"x")
    assert type(told.value) is fault


def test_where_a_uid_is_taken_the_other_resource_is_named() -> None:
    """RFC 4791 §5.3.2.1: the condition holds its address."""
    body = error("<C:no-uid-conflict><D:href>/list/moved%20here.ics</D:href></C:no-uid-conflict>")
    with (
        stub(always(Says(status=403, body=body))) as server,
        pytest.raises(UidTaken) as told,
    ):
        list_at(server.url).create("/list/1.ics", b"x")
    assert told.value.path == "/list/moved%20here.ics"


# Finding the list ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "path"), [("Work", "/cal/ivy/w/"), ("w", "/cal/ivy/w/"), ("Any", "/cal/ivy/any/")]
)
def test_a_list_is_found_by_its_name_from_the_bare_address(name: str, path: str) -> None:
    """RFC 6764 §5, RFC 5397, RFC 4791 §6.2.1: well-known, who, home, lists."""
    with stub(hosted(LISTS)) as server:
        found = find(Wire(server.url, "ivy", SECRET), server.url, name, make=False)
        assert found.address == f"{server.url.rstrip('/')}{path}"


def test_the_address_of_the_list_itself_is_enough() -> None:
    """As copied from the server's own page."""
    with stub(hosted(LISTS)) as server:
        address = f"{server.url}cal/ivy/w/"
        assert find(Wire(address, "ivy", SECRET), address, None, make=False).name == "Work"


def test_the_only_list_of_tasks_needs_no_name() -> None:
    """Lists of events do not count."""
    lists = {path: LISTS[path] for path in ("/cal/ivy/w/", "/cal/ivy/e/")}
    with stub(hosted(lists)) as server:
        assert find(Wire(server.url, "ivy", SECRET), server.url, None, make=False).name == "Work"


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("Wrok", "no list called 'Wrok'; did you mean 'Work'"),
        ("Chores", "no list called 'Chores'; add --make"),
        ("Events", "'Events' on .* takes events only"),
        ("Twice", "2 lists called 'Twice'; name the address"),
        (None, "name the list of tasks .* 'Work'"),
    ],
)
def test_a_list_that_is_not_found_is_said_with_those_there_are(name: str | None, said: str) -> None:
    """With the name as typed, and what to type."""
    with (
        stub(hosted(LISTS)) as server,
        pytest.raises(SyncTrouble, match=said),
    ):
        find(Wire(server.url, "ivy", SECRET), server.url, name, make=False)


def test_a_list_is_made_for_tasks_only() -> None:
    """RFC 4791 §5.3.1 and §5.2.3."""
    with stub(hosted(LISTS)) as server:
        found = find(Wire(server.url, "ivy", SECRET), server.url, "Beds & <trays>", make=True)
        made = server.asked[-1]
    assert found.name == "Beds & <trays>"
    assert made.method == "MKCALENDAR"
    assert '<C:comp name="VTODO"/>' in made.body
    assert "<D:displayname>Beds &amp; &lt;trays&gt;</D:displayname>" in made.body


def test_a_server_that_lets_nobody_make_lists_is_said() -> None:
    """Some hosters allow it only on their own pages."""
    with (
        stub(hosted(LISTS, makes=403)) as server,
        pytest.raises(SyncTrouble, match="does not let 'ivy' make a list"),
    ):
        find(Wire(server.url, "ivy", SECRET), server.url, "Beds", make=True)


def test_an_address_that_leads_nowhere_is_said() -> None:
    """With what such addresses often end in."""
    with (
        stub(always(Says(status=404))) as server,
        pytest.raises(SyncTrouble, match="is not the address of a calendar server"),
    ):
        find(Wire(server.url, "ivy", SECRET), server.url, "Work", make=False)
