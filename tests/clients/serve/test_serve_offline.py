"""The phone without signal: its list stays, its answers are kept, each is written exactly once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from at_the_phone import Line, Phone, phone
from served_house import KeyKind, Served, desk_over, make_key, serving

from cropplan.desk import keys


@pytest.fixture
def line() -> Iterator[Line]:
    """A line that leads nowhere yet."""
    made = Line(to=9)
    yield made
    made.close()


@pytest.fixture
def house(record: Path, line: Line) -> Iterator[Served]:
    """The house, reached over the line."""
    with serving(record, names=[f"127.0.0.1:{line.port}"]) as running:
        line.connect(running.port)
        yield running


def opened(one: Phone, line: Line, path: str) -> None:
    """Load a phone's page over the line and let it settle: its store filled, its worker ready."""
    one.open(f"http://127.0.0.1:{line.port}{path}")
    one.wait(lambda: one.script("return navigator.serviceWorker.controller !== null"))
    stored = "return caches.open('pages:' + document.body.dataset.root).then(s => s.keys())"
    one.wait(lambda: len(one.script(f"{stored}.then(k => k.map(r => r.url))")) >= 5)


def without_signal(one: Phone, line: Line) -> None:
    """The network cut below the browser, and the browser told so."""
    line.cut()
    one.command("Network.enable")
    one.command(
        "Network.emulateNetworkConditions",
        offline=True,
        latency=0,
        downloadThroughput=-1,
        uploadThroughput=-1,
    )


def with_signal(one: Phone, line: Line) -> None:
    """The signal is back, and the browser told so."""
    line.restore()
    one.command(
        "Network.emulateNetworkConditions",
        offline=False,
        latency=0,
        downloadThroughput=-1,
        uploadThroughput=-1,
    )


def all_sent(one: Phone) -> None:
    """Wait until the phone keeps nothing back."""
    one.wait(lambda: not one.one("#signal").is_displayed(), 40)


def written_since(house: Served, before: int) -> list[tuple[str, str | None]]:
    """The entries made after the first so many."""
    return house.entries()[before:]


def test_three_ticks_and_a_pick_without_signal_are_written_once(house: Served, line: Line) -> None:
    """The story: cut, tick, reload, tick, pick, reload, restore; four answers, four entries."""
    before = len(house.entries())
    with phone() as one:
        opened(one, line, house.phone)
        without_signal(one, line)
        one.press("#fi-main .done")
        one.press("#pm-main .done")
        one.says("2 answers wait for signal", "#signal")
        one.driver.refresh()
        one.says("Feed the fish")
        one.says("2 answers wait for signal", "#signal")
        one.says("Ticked; waits for signal", "#fi-main")
        assert not one.one("#fi-main .done").is_enabled()
        one.press("#po-tom .done")
        one.one("#pk-tom [name='amount-tom1']").send_keys("3")
        one.press("#pk-tom .done")
        one.picture("offline")
        one.driver.refresh()
        one.says("4 answers wait for signal", "#signal")
        assert written_since(house, before) == []
        with_signal(one, line)
        one.driver.refresh()
        all_sent(one)
        one.driver.refresh()
        all_sent(one)
    made = sorted(written_since(house, before), key=str)
    assert made == [("Done", "Mina"), ("Done", "Mina"), ("Fed", "Mina"), ("Picked", "Mina")]


def test_answers_whose_reply_was_lost_are_sent_again_and_written_once(
    house: Served, line: Line
) -> None:
    """The house took it and the phone never heard: it sends the same, and nothing changes."""
    before = len(house.entries())
    with phone() as one:
        opened(one, line, house.phone)
        line.lose_replies()
        one.one("#pk-tom [name='amount-tom1']").send_keys("2")
        one.press("#pk-tom .done")
        one.wait(lambda: written_since(house, before), 20)
        line.cut()
        one.says("1 answer waits for signal", "#signal")
        one.driver.refresh()
        line.restore()
        one.driver.refresh()
        all_sent(one)
        one.says("picked 2 kg", "#told")
    assert written_since(house, before) == [("Picked", "Mina")]


def test_two_phones_that_tick_one_line_make_one_entry(house: Served, line: Line) -> None:
    """Both without signal, both sure that they did it: the second is told who was first."""
    other = make_key(house.record, "Jonas", KeyKind.PHONE)
    before = len(house.entries())
    with phone() as one, phone() as two:
        opened(one, line, house.phone)
        opened(two, line, other)
        without_signal(one, line)
        without_signal(two, line)
        one.press("#o1 .done")
        two.press("#o1 .done")
        with_signal(one, line)
        one.script("dispatchEvent(new Event('online'))")
        all_sent(one)
        with_signal(two, line)
        two.script("dispatchEvent(new Event('online'))")
        all_sent(two)
        two.says("nothing changed", "#told")
        two.says("Mina", "#told")
    assert written_since(house, before) == [("Done", "Mina")]


def test_what_waits_can_be_taken_back_and_what_is_refused_is_told(
    house: Served, line: Line
) -> None:
    """An answer still on the phone leaves no trace; one the house refuses is shown with why."""
    before = len(house.entries())
    with phone() as one:
        opened(one, line, house.phone)
        without_signal(one, line)
        one.press("#fi-main .done")
        one.press("#fi-main .waiting button")
        assert not one.one("#signal").is_displayed()
        assert one.one("#fi-main .done").is_enabled()
        one.one("#pk-tom [name='amount-tom1']").send_keys("many")
        one.press("#pk-tom .done")
        with_signal(one, line)
        one.driver.refresh()
        one.wait(lambda: "Not written: pk-tom: 'many' is no amount" in one.text("#signal"))
        one.press("#signal button")
        assert not one.one("#signal").is_displayed()
    assert written_since(house, before) == []


def test_the_week_and_the_plants_are_there_without_signal(house: Served, line: Line) -> None:
    """Pages that were never opened are kept too; one that was not kept says so."""
    with phone() as one:
        opened(one, line, house.phone)
        without_signal(one, line)
        root = f"http://127.0.0.1:{line.port}{house.phone}"
        one.open(f"{root}week")
        one.says("The week ahead", "body")
        one.open(f"{root}plants")
        one.says("tom1", "body")
        one.open(f"{root}plant/tom1")
        one.says("this page was not kept", "body")


def test_a_phone_whose_key_is_taken_back_forgets_its_pages(house: Served, line: Line) -> None:
    """A lost phone that is revoked shows nothing the next time it has signal, nor after."""
    with phone() as one:
        opened(one, line, house.phone)
        desk = desk_over(house.record)
        with desk.record:
            keys.revoke(desk, "Mina")
        one.driver.refresh()
        assert one.text("body") == "There is nothing here."
        without_signal(one, line)
        one.driver.refresh()
        assert "Feed the fish" not in one.text("body")
