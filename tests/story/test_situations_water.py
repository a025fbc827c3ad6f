"""Situations 39 to 45: fish, filter and water, at the terminal."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from at_the_terminal import DAY, Terminal

from cropplan.water.ammonia import un_ionised


@pytest.fixture
def typist(tmp_path: Path) -> Terminal:
    """A house with forty tilapia on one loop, drained today; a tomato bears in B1."""
    terminal = Terminal(record=tmp_path / "house.db")
    terminal.done(
        "house new 'Quay House' --at 53.3,-6.2 --zone Europe/Dublin --day 26C --night 26C"
    )
    terminal.done("loop add main --volume 1200L --fish tilapia --count 40 --weight 150g --feed 90g")
    terminal.done("place add B1-B5 --kind bucket --medium perlite --filled 2026-01-10")
    terminal.done("place add W1,W2 --kind bed --holds 10 --medium wicking-mix --filled 2026-02-01")
    terminal.done("bring-in tomato 1 --in B1 --stage fruiting --age-unknown")
    terminal.done("drain main")
    return terminal


def lived(terminal: Terminal, days: int, grams: float | None, *, drain: bool = True) -> list[int]:
    """Feed for so many days, draining whenever it is due; the intervals between drains."""
    last, intervals = terminal.day, []
    for _ in range(days):
        terminal.day += timedelta(days=1)
        if grams is not None:
            terminal.done(f"feed main {grams}g")
        if drain and terminal.rounds("--ahead 0").get("dr-main", {}).get("state") in {
            "today",
            "late",
        }:
            terminal.done("drain main")
            intervals.append((terminal.day - last).days)
            last = terminal.day
    return intervals


def remarks(terminal: Terminal) -> str:
    """What the rounds say before the list."""
    head = terminal.done("rounds --ahead 0").partition("\n\n")[0]
    return " ".join(head.replace("\n!", "\n").split("\n", 1)[1].split())


def due(terminal: Terminal, handle: str) -> date:
    """The day a line falls due."""
    return date.fromisoformat(terminal.rounds("--ahead 60")[handle]["due"])


def test_situation_39_fish_are_fed_less(typist: Terminal) -> None:
    """Half the feed, twice the interval; hardly any, the longest one; and never no drain at all."""
    usual = lived(typist, 24, 90)[-4:]
    assert usual == [2, 2, 2, 2]
    halved = lived(typist, 30, 45)[-3:]
    assert halved == [4, 4, 4]
    hardly = lived(typist, 60, 2)
    assert max(hardly) == 14
    assert lived(typist, 30, 0)[-1] == 14


def test_a_feed_log_that_misses_three_weeks_does_not_stop_the_draining(typist: Terminal) -> None:
    """Draining goes on at the usual interval, and the line says on what it rests."""
    lived(typist, 10, 45)
    silent = lived(typist, 21, None)
    assert silent[-3:] == [2, 2, 2]
    typist.day += timedelta(days=2)
    why = typist.rounds()["dr-main"]["why"]
    assert "feed written on 0 of 7 days, too few to go by: every 2 days as usual" in why


def test_a_feed_that_cannot_be_falls_back_and_is_named(typist: Terminal) -> None:
    """A slip of the pen must neither flood the list nor stop the draining."""
    lived(typist, 12, 90)
    typist.done("feed main 9000g --again")
    typist.day += timedelta(days=1)
    line = typist.rounds("--ahead 3")["dr-main"]
    assert "a feed of 9000 g on Sat 14 Mar cannot be" in line["why"]
    assert date.fromisoformat(line["due"]) <= typist.day + timedelta(days=2)


def test_situation_40_no_fish_or_a_filter_that_ripens(typist: Terminal) -> None:
    """Fallow asks for no drain, feed or test; cycling asks for a test each day."""
    typist.done("loop set main --state fallow")
    typist.day += timedelta(days=1)
    assert not {"dr-main", "fi-main", "tw-main", "cf-main"} & typist.rounds("--ahead 30").keys()
    typist.done("loop set main --state cycling")
    typist.done("test main ammonia=4 nitrite=2 ph=7.4 temperature=26C")
    asked = typist.rounds("--ahead 30")
    assert "dr-main" not in asked
    assert "aw-main" not in asked, "nothing lives there that could be harmed"
    typist.day += timedelta(days=1)
    assert typist.rounds()["tw-main"]["state"] == "today"


def test_situation_41_fish_are_sold(typist: Terminal) -> None:
    """Areas fall out of balance, and since when is told; the plants feel it later."""
    typist.done("bring-in tomato 4 --in B2-B5 --stage fruiting --age-unknown")
    typist.done("loop set main --feed 140g")
    lived(typist, 28, 140)
    balance = typist.type("loop show --json").value["balance"]
    assert balance["now"]["verdict"] == "in balance"
    sold = typist.done("loop set main --count 12 --feed 42g")
    assert "40 to 12 fish" in sold
    assert "plants feel it a week or more later" in " ".join(sold.split())
    this_week = typist.day - timedelta(days=typist.day.weekday())
    lived(typist, 28, 42)
    balance = typist.type("loop show --json").value["balance"]
    assert balance["now"]["verdict"] == "too little"
    assert balance["now"]["difference"] == pytest.approx(42 - balance["now"]["need"]["low"])
    assert balance["since"] == this_week.isoformat()
    assert "feed of main too little by" in remarks(typist)


def test_situation_42_ammonia_is_high(typist: Terminal) -> None:
    """Urgent today with the computed un-ionised figure; a test tomorrow; the routine day stays."""
    typist.done("test main ammonia=0.5 ph=7 temperature=26C nitrite=0.2")
    typist.day += timedelta(days=3)
    routine = due(typist, "tw-main")
    typist.done("feed main 45g --on yesterday")
    # The extra reading is taken out of turn, and counts as the routine one.
    said = typist.done("test main ammonia=2 ph=8.2 temperature=28C")
    assert "AT ONCE" in said
    routine = due(typist, "tw-main")
    assert routine == typist.day + timedelta(days=7)
    lines = typist.lines("--ahead 3")
    first = lines[0]
    assert first["handle"] == "aw-main"
    assert (first["state"], first["job"]) == (
        "today",
        "Stop feeding main, look for dead fish, aerate",
    )
    assert f"un-ionised ammonia {un_ionised(2, 28, 8.2):.2f} mg/L" in first["why"]
    assert "ammonia 2 mg/L at pH 8.2 and 28 °C" in first["why"]
    assert "do not raise the pH" in first["why"]
    assert "A fast change of pH harms fish" in first["caution"]
    assert "Treat it, and test for total chlorine" in first["caution"]
    by_handle = {line["handle"]: line for line in lines}
    assert by_handle["fi-main"]["job"] == "Do not feed main; watch the fish"
    assert by_handle["ta-main"]["due"] == (typist.day + timedelta(days=1)).isoformat()
    typist.done("done aw-main")
    assert "aw-main" not in typist.rounds()

    typist.day += timedelta(days=1)
    refused = typist.type("done ta-main")
    assert refused.code == 1
    assert "cropplan test main" in refused.err
    typist.done("test main ammonia=1.9 ph=8.1 temperature=28C")
    assert typist.rounds()["aw-main"]["state"] == "today", "still out of range, so asked anew"
    assert due(typist, "tw-main") == routine
    typist.day += timedelta(days=1)
    typist.done("test main ammonia=0.4 ph=7.2 temperature=26C")
    assert not {"aw-main", "ta-main"} & typist.rounds("--ahead 30").keys()
    assert typist.rounds()["fi-main"]["job"] == "Feed the fish, watch them eat"
    assert due(typist, "tw-main") == routine
    typist.done("check")


def test_situation_43_a_zero_is_a_reading_and_a_blank_is_none(typist: Terminal) -> None:
    """Nitrite read as nothing is good; oxygen not read is not judged."""
    typist.done("test main ph=6.8 nitrite=0 ammonia=0")
    sheet = typist.type("loop show --json").value
    rows = {row["key"]: row for row in sheet["tests"]}
    assert (rows["nitrite"]["value"], rows["nitrite"]["verdict"]) == (0, "good")
    assert "oxygen" in sheet["not_tested"]
    assert "oxygen" not in rows
    assert "not tested: oxygen" in typist.done("loop show")


def test_situation_44_units_are_mixed(typist: Terminal) -> None:
    """Whatever is typed, one thing is kept; what cannot be is asked about."""
    typist.done("feed main 2oz")
    typist.done("test main temperature=78.8F")
    typist.done("top-up main 5gal")
    typist.done("weigh main 10 0.4lb")
    sheet = typist.type("loop show --json").value
    assert {row["key"]: row["value"] for row in sheet["tests"]}["temperature"] == pytest.approx(26)
    assert sheet["loop"]["weight_g"] == pytest.approx(0.4 * 453.59237)
    assert sheet["loop"]["fed_since_drain_g"] == pytest.approx(2 * 453.59237 / 16)
    for typed, meant in (("ph=67", "6.7"), ("temperature=78", "25.6")):
        refused = typist.type(f"test main {typed}")
        assert refused.code == 1
        assert f"{meant} meant?" in refused.err
    typist.done("house set --units us")
    shown = typist.done("loop show")
    assert "317 gal" in shown
    assert "79 °F" in shown
    assert "6.4 oz each" in shown


def test_situation_45_fish_are_treated(typist: Terminal) -> None:
    """Picks on the loop carry the wait, its water is refused to beds, and a banner says so."""
    typist.done("loop treat main 'salt bath' --no-eat-until 2026-03-20 --no-water-until 2026-03-10")
    pick = typist.rounds("--ahead 5")["pk-tom"]
    assert pick["why"].startswith("HOLD, not to be eaten before Fri 20 Mar: main was treated")
    banner = remarks(typist)
    assert banner.startswith("main is treated (salt bath)")
    assert "use none of its water before Tue 10 Mar" in banner
    refused = typist.type("drain main --volume 12L --to W1")
    assert refused.code == 1
    assert "none of its water is to be used before 2026-03-10" in refused.err
    # An earlier end does not lift a wait that holds.
    typist.done("loop treat main 'vitamin' --no-eat-until 2026-03-05")
    typist.day = date(2026, 3, 19)
    assert "HOLD" in typist.rounds("--ahead 5")["pk-tom"]["why"]
    typist.day = date(2026, 3, 20)
    assert "HOLD" not in typist.rounds("--ahead 5")["pk-tom"]["why"]
    assert "treated" not in remarks(typist)


def test_solids_on_a_bed_are_remembered_and_a_wait_is_the_growers_own(typist: Terminal) -> None:
    """No wait is kept unless it is set; with one, picks on the bed carry it; doses add up."""
    typist.done("bring-in lettuce 8 --in W1 --stage picking --age-unknown")
    said = typist.done("drain main --volume 12L --to W1,W2")
    assert "W1 6.0 L and W2 6.0 L" in said
    assert "check your authority" in said
    pick = typist.rounds("--ahead 9")["pk-let"]
    assert "HOLD" not in pick["why"]
    assert "Treat raw fish solids as untreated manure" in pick["caution"]
    typist.done("house set --solids-wait 120")
    pick = typist.rounds("--ahead 9")["pk-let"]
    assert "solids went on W1" in pick["why"]
    assert "not to be eaten before Tue 30 Jun" in pick["why"]
    assert "check your authority" in pick["why"]
    typist.done("house set --solids-wait off")
    assert "HOLD" not in typist.rounds("--ahead 9")["pk-let"]["why"]


def test_solids_in_a_vessel_come_back_after_eight_to_ten_days(typist: Terminal) -> None:
    """Hager et al. 2021: strong air for 8 to 10 days, then settle and return the clear water."""
    typist.done("drain main --volume 12L --to vessel")
    line = typist.rounds("--ahead 20")["sv-main"]
    days = [(date.fromisoformat(line[key]) - DAY).days for key in ("earliest", "due", "latest")]
    assert days == [8, 9, 10]
    assert "Treat raw fish solids as untreated manure" in line["caution"]
    assert "settled by local law" in line["caution"]
    typist.day += timedelta(days=9)
    typist.done("done sv-main")
    assert "sv-main" not in typist.rounds("--ahead 30")


def test_an_unusual_top_up_asks_about_a_leak(typist: Terminal) -> None:
    """More than leaf and air take is asked about once, and a look settles it."""
    for _ in range(6):
        typist.day += timedelta(days=2)
        assert "leak" not in typist.done("top-up main 40L")
    typist.day += timedelta(days=2)
    assert "is there a leak" in typist.done("top-up main 190L")
    assert typist.rounds()["lk-main"]["state"] == "today"
    assert "is there a leak in main?" in remarks(typist)
    typist.done("done lk-main")
    assert "lk-main" not in typist.rounds("--ahead 30")


def test_two_weighings_tell_how_feed_became_fish(typist: Terminal) -> None:
    """FCR is feed over gain (FAO 589, 7.3); between weighings the ration follows the growth."""
    typist.done("weigh main 10 150g")
    lived(typist, 20, 90)
    grown = typist.type("loop show --json").value["ration"]
    assert grown["weight_g"] == pytest.approx(150 + 20 * 90 / 1.6 / 40)
    said = typist.done("weigh main 10 180g")
    assert "30 g each" in said
    assert "1.5 of feed for 1 of growth" in said
    loop = typist.type("loop show --json").value["loop"]
    assert loop["fcr"] == pytest.approx(20 * 90 / (30 * 40))
    assert typist.type("weigh main 60 180g").code == 1
