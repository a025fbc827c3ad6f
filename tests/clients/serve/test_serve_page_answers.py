"""The page in Debian's Chromium: ticked, skipped, put off and undone, with and without scripts."""

from __future__ import annotations

import re

from at_the_phone import PHONE, phone, url
from raw_http import ask, post, token_on
from selenium.webdriver.common.by import By
from served_house import Served, desk_over


def test_everything_can_be_answered_without_scripts(served: Served) -> None:
    """Tick with a note, pick with amounts, some places only, skip, put off, undo: plain forms."""
    before = len(served.entries())
    with phone() as one:
        one.without_scripts()
        one.open(url(served))
        one.press("#fi-main summary")
        one.one("#fi-main [name='note']").send_keys("ate all")
        one.press("#fi-main .done")
        one.says("fi-main: Feed the fish, watch them eat, done on Wed 10 Jun", "#told")
        one.press("#told button")
        one.says("undone: fed main", "#told")
        one.one("#pk-tom [name='amount-tom2']").send_keys("0,3")
        one.press("#pk-tom .done")
        one.says("tom2: picked 0.3 kg", "#told")
        one.driver.refresh()
        one.press("#po-tom summary")
        one.press("#po-tom [type='checkbox'][value*='tom2']")
        one.press("#po-tom .done")
        one.says("po-tom: Pollinate tomatoes: B1, done", "#told")
        one.press("#po-tom summary")
        one.one("#po-tom [name='why']").send_keys("too damp")
        one.press("#po-tom form:nth-of-type(1) fieldset button")
        one.says("skipped (too damp)", "#told")
        one.press("#o1 summary")
        one.one("#o1 [name='to']").send_keys("06122026")
        one.press("#o1 form:nth-of-type(2) fieldset button")
        one.says("put off to Fri 12 Jun", "#told")
        one.press("#o2 summary")
        one.press("#o2 form:nth-of-type(1) fieldset button")
        one.says("say in a word why it was not done")
    made = [kind for kind, _ in served.entries()[before:]]
    assert made == ["Fed", "Voided", "Picked", "Done", "Skipped", "PutOff"]
    desk = desk_over(served.record)
    with desk.record:
        entries = desk.record.journal(last=6)
        assert entries[0].note == "ate all"
        assert {entry.by for entry in entries} == {"Mina"}


def test_pressing_twice_and_loading_again_write_once(served: Served) -> None:
    """Every form has a name of its own, so that a doubled press is one answer."""
    page = ask(served, served.phone).text
    form = page.split('id="tick-fi-main"', 1)[1].split("</form>", 1)[0]
    fields = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]+)"', form)
    before = len(served.entries())
    replies = [post(served, f"{served.phone}answer", fields) for _ in range(3)]
    assert {reply.status for reply in replies} == {303}
    assert len({reply.headers["location"] for reply in replies}) == 1
    assert len(served.entries()) == before + 1


def test_what_was_looked_for_is_told_on_the_page(served: Served) -> None:
    """A watch has two answers: looked and not yet, or seen, planting by planting."""
    before = len(served.entries())
    with phone() as one:
        one.open(url(served))
        assert one.text("#cr-tom .done") == "Looked: not yet"
        one.press("#cr-tom form:first-of-type button")
        one.says("tom3: rooted on Wed 10 Jun", "#told")
    assert served.entries()[before:] == [("Seen", "Mina")]


def test_cuttings_and_setting_out_are_told_with_how_many_and_where(served: Served) -> None:
    """What a tick cannot say has its own fields."""
    before = len(served.entries())
    token = token_on(ask(served, served.phone).text)
    struck = [("what", "struck"), ("tick", "struck-1"), ("tag", "tom1"), ("count", "6")]
    struck += [("place", "T2"), ("handle", "st-tom")]
    out = [("what", "set-out"), ("tick", "set-out-1"), ("tag", "tom3"), ("handle", "so-tom")]
    out += [("place", "B3"), ("place", "B4")]
    said = []
    for fields in (struck, out):
        reply = post(
            served, f"{served.phone}answer", [("form", token), *fields], Accept="application/json"
        )
        assert reply.status == 200, reply.text
        said.append(reply.text)
    assert "6 tomatoes struck in T2" in said[0]
    assert "set out in B3" in said[1]
    assert served.entries()[before:] == [("Began", "Mina"), ("SetOut", "Mina")]


def test_a_tick_with_scripts_says_what_it_did_and_is_undone(served: Served) -> None:
    """The answer appears where the thumb is, with the places ticked and a way back."""
    before = len(served.entries())
    with phone() as one:
        one.open(url(served))
        one.press("#po-tom .done")
        one.says("po-tom: Pollinate tomatoes: B1 and B2, done on Wed 10 Jun", "#told")
        one.wait(lambda: not one.driver.find_elements(By.CSS_SELECTOR, "section.late #po-tom"))
        one.picture("ticked")
        bar = one.script("return document.getElementById('told').getBoundingClientRect().bottom")
        assert bar <= PHONE[1] + 1
        one.press("#told button")
        one.says("undone", "#told")
        one.wait(lambda: one.driver.find_elements(By.CSS_SELECTOR, "section.late #po-tom"))
    assert [kind for kind, _ in served.entries()[before:]] == ["Done", "Voided"]
