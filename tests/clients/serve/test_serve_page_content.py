"""The page in Debian's Chromium: the day, the week, a planting, the season, a neighbour's sheet."""

from __future__ import annotations

import base64
import re
from datetime import date, timedelta
from pathlib import Path

from at_the_phone import PHONE, Phone, measured, phone, url
from raw_http import ask
from selenium.webdriver.common.by import By
from served_house import TODAY, KeyKind, Served, desk_over, make_key, serving

from cropplan.desk.premises import go_away
from cropplan.holding.planting import Origin
from cropplan.holding.season import PlannedStrike, PlannedWeek, SeasonAccepted, SeasonPlan
from cropplan.record.store import open_record
from tests.builders import on


def test_lines_stand_by_part_of_the_day_with_their_cautions(
    looked_at: Served, screen: Phone
) -> None:
    """Fish and water first, then late, then by part of the day; cautions with their task."""
    screen.screen(PHONE)
    screen.open(url(looked_at))
    heads = [one.text for one in screen.driver.find_elements(By.CSS_SELECTOR, "section > h2")]
    assert heads == ["First", "Late", "Morning", "Any time"]
    shown = [one.get_attribute("id") for one in screen.driver.find_elements(By.TAG_NAME, "article")]
    assert shown[:2] == ["fi-main", "pm-main"]
    assert shown.index("he") < shown.index("pk-tom")
    assert shown.index("o1") > shown.index("pk-let")
    assert "B1 · B2 Pick tomatoes" in screen.text("#pk-tom h3")
    assert "gloves over cuts" in screen.text("#fi-main")
    assert "230 g" in screen.text("#fi-main")
    assert "Unplug before putting a hand in the water" in screen.text("#pm-main")


def test_a_planting_shows_its_life_its_kin_and_its_picks(looked_at: Served, screen: Phone) -> None:
    """Seen days stand, days to come have their span; parent and children lead to their pages."""
    screen.screen(PHONE)
    screen.open(url(looked_at, "plant/tom1"))
    said = screen.text()
    assert "first ripe fruit\nMon 25 May" in said
    assert re.search(r"spent\nabout .* \(.* to .*, eight times in ten\)", said)
    assert "Picked 1 kg in 2" in said
    assert "Fri 5 Jun: 0.6 kg Mina" in said
    screen.open(url(looked_at, "plant/tom3"))
    screen.press("dd a")
    screen.says("tom1: tomato", "h1")
    assert re.search(r"taken from it\ntom3.*tom4", screen.text(), re.DOTALL)
    screen.open(url(looked_at, "plant/tom4"))
    assert "lost on Wed 20 May" in screen.text()


def test_the_season_is_shown_as_a_picture_and_in_words(record: Path) -> None:
    """The plan in force, drawn from the record; what to strike, for whoever cannot see it."""
    strike = PlannedStrike(
        number=1,
        crop="tomato",
        way=Origin.CUTTING,
        on=date(2026, 6, 20),
        count=3,
        plants=2,
        mothers=("tom1",),
        place="T1",
        places=("B3", "B4"),
        set_out=date(2026, 7, 8),
        first_pick=date(2026, 9, 1),
        last_pick=date(2026, 12, 20),
    )
    weeks = tuple(
        PlannedWeek(
            week=TODAY + timedelta(weeks=n), crop="tomato", goal=1, expected=1, low=0, high=2
        )
        for n in range(30)
    )
    plan = SeasonPlan(
        made=TODAY, until=date(2026, 12, 31), last_number=1, strikes=(strike,), weeks=weeks
    )
    with open_record(record) as opened:
        opened.append(on(TODAY, SeasonAccepted(plan=plan)))
    with serving(record) as running, phone() as one:
        one.open(url(running, "season"))
        assert "Sat 20 Jun: 3 tomato from tom1" in one.text()
        assert "for B3, B4, set out Wed 8 Jul" in one.text()
        one.wait(lambda: one.script("return document.querySelector('main img').naturalWidth") > 300)
        one.picture("season-drawn")
        found = measured(one)
        assert found["width"] <= found["screen"]
        drawn = ask(running, f"{running.phone}season.svg")
        assert drawn.headers["content-type"] == "image/svg+xml"
        assert "sandbox" in drawn.headers["content-security-policy"]
        assert drawn.body == ask(running, f"{running.phone}season.svg").body


def test_a_neighbours_sheet_prints_on_one_page(record: Path, tmp_path: Path) -> None:
    """Ten days of errands with a box a day, cautions included, on one A4 page."""
    desk = desk_over(record)
    with desk.record:
        go_away(desk, date(2026, 6, 11), date(2026, 6, 24))
    path = make_key(record, "Ines next door", KeyKind.NEIGHBOUR)
    with serving(record) as running, phone() as one:
        one.open(f"{running.origin}{path}")
        assert "Nothing is asked of you today" in one.text()
        one.picture("neighbour")
        one.open(f"{running.origin}{path}sheet")
        one.picture("sheet")
        said = one.text()
        assert "230 g" in said
        assert said.count("Thu 11 Jun") >= 3
        assert "gloves over cuts" in said
        printed = one.command("Page.printToPDF", preferCSSPageSize=True)["data"]
    pdf = base64.b64decode(printed)
    (tmp_path / "sheet.pdf").write_bytes(pdf)
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf)) == 1


def test_the_week_lists_each_days_work(looked_at: Served, screen: Phone) -> None:
    """Day by day, from tomorrow on, each with why."""
    screen.open(url(looked_at, "week"))
    heads = [one.text for one in screen.driver.find_elements(By.CSS_SELECTOR, "main h2")]
    days = [date(2026, 6, int(head.split()[1])) for head in heads]
    assert len(days) >= 3
    assert days == sorted(set(days))
    assert date(2026, 6, 11) <= days[0]
    assert days[-1] <= date(2026, 6, 17)
    assert "wipe the lamps" in screen.text()
    assert "every 5 days" in screen.text()
