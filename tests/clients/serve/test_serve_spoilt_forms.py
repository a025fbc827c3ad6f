"""Forms over real HTTP that make no sense, are no forms, or say what would be markup."""

from __future__ import annotations

import pytest
from raw_http import ask, keys_of, post, token_on
from served_house import Served


@pytest.mark.parametrize(
    "fields",
    [
        [],
        [("what", "done")],
        [("what", "done"), ("tick", "x")],
        [("what", "done"), ("tick", "a-good-name-1"), ("key", "no key at all")],
        [("what", "done"), ("tick", "a-good-name-2"), ("key", "fish/moon:main/1")],
        [("what", "done"), ("tick", "a-good-name-3"), ("key", "fish/loop:main/1e9")],
        [("what", "done"), ("tick", "a-good-name-4"), ("handle", "fi-main")],
        [("what", "done"), ("tick", "a-good-name-5"), ("key", "fish/loop:main/999"), ("day", "?")],
        [("what", "done"), ("tick", "a-good-name-6"), ("amount-tom1", "a lot")],
        [("what", "done"), ("tick", "a-good-name-7"), ("amount-tom1", "-1")],
        [("what", "done"), ("tick", "a-good-name-8"), ("amount-tom1", "nan")],
        [("what", "done"), ("tick", "a-good-name-9"), ("amount-tom1", "1e400")],
        [("what", "done"), ("tick", "a-good-name-10"), ("amount-none", "1")],
        [("what", "seen"), ("tick", "a-good-name-11"), ("tag", "tom1"), ("stage", "moon")],
        [("what", "struck"), ("tick", "a-good-name-12"), ("tag", "tom1"), ("count", "-4")],
        [("what", "set-out"), ("tick", "a-good-name-13"), ("tag", "tom1")],
        [("what", "undo"), ("tick", "a-good-name-14"), ("entry", "99999")],
        [("what", "undo"), ("tick", "a-good-name-15"), ("undo", "no-such-tick")],
        [("what", "later"), ("tick", "a-good-name-16"), ("to", "2026-13-45")],
        [("what", "explode"), ("tick", "a-good-name-17")],
        [("what", "done"), ("what", "skip"), ("tick", "a-good-name-18")],
        [
            ("what", "skip"),
            ("tick", "a-good-name-19"),
            ("key", "fish/loop:main/999"),
            ("why", "x" * 5000),
        ],
        [("what", "done"), ("tick", "a-good-name-20"), ("day", "2999-01-01"), ("amount-tom1", "1")],
    ],
)
def test_forms_that_make_no_sense_are_refused_in_a_line(
    attacked: Served, fields: list[tuple[str, str]]
) -> None:
    """Whatever a form says, the answer is one line of why, and never a fault of ours."""
    token = token_on(ask(attacked, attacked.phone).text)
    told = [("form", token), *fields]
    reply = post(attacked, f"{attacked.phone}answer", told, Accept="application/json")
    assert reply.status in {400, 409}, reply.text
    assert reply.text.startswith('{"refused": "')
    shown = post(attacked, f"{attacked.phone}answer", told)
    assert shown.status in {400, 409}
    assert "Not written" in shown.text


def test_a_body_that_is_no_form_is_refused(attacked: Served) -> None:
    """Octets that are no text, and more fields than any page of ours has."""
    for body in (b"\xff\xfe\x00", b"&".join(b"a=1" for _ in range(2000))):
        reply = ask(
            attacked, f"{attacked.phone}answer", method="POST", body=body, Origin=attacked.origin
        )
        assert reply.status == 400


def test_what_a_person_writes_is_never_markup(served: Served) -> None:
    """A reason or a note with tags in it is shown as it was typed."""
    page = ask(served, served.phone).text
    nasty = "<img src=x onerror=alert(1)>&\"'"
    told = [("form", token_on(page))]
    skipped = [("tick", "nasty-reason-1"), ("what", "skip"), ("handle", "po-tom"), ("why", nasty)]
    skipped += [("key", key) for key in keys_of(page, "po-tom")]
    picked = [("tick", "nasty-note-1"), ("what", "done"), ("amount-tom1", "0.2"), ("note", nasty)]
    for fields in (skipped, picked):
        reply = post(served, f"{served.phone}answer", told + fields, Accept="application/json")
        assert reply.status == 200
    for path in ("?told=nasty-reason-1", "plant/tom1"):
        text = ask(served, served.phone + path).text
        assert "<img" not in text
        assert "&lt;img src=x" in text
