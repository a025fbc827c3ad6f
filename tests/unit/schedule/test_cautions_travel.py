"""Cautions of fish water reach the morning list, the calendar and the phone page."""

from __future__ import annotations

from datetime import timedelta

import pytest

from cropplan.catalogue.read import read_catalogue
from cropplan.cli.rounds_text import laid_out
from cropplan.desk.calendar import notice_of
from cropplan.desk.morning import MorningList
from cropplan.holding.entry import Drained, LoopSet, Tested
from cropplan.holding.planting import Stage
from cropplan.schedule.outlook import outlook
from cropplan.schedule.rounds import Line, rounds_of
from cropplan.schedule.scene import Scene
from tests.builders import (
    HOUSE,
    LOOP,
    START,
    after,
    bare_house,
    on,
    seen_from,
    set_out,
    standing,
    struck,
)

#: The cautions that water work calls for, and the words by which each is known.
OF_THE_WATER = {
    "raw-greens": "rinse in drinking water",
    "raw-fish-waste-on-food": "Ask your food-safety authority",
    "wild-watercress": "liver fluke",
    "electricity-and-water": "licensed electrician",
    "rcd-stops-air": "also stops the air",
    "oxygen-failure": "no time is safe",
    "chlorine-in-top-up": "chloramine",
    "metals": "Copper",
    "pesticides-fish": "Read the label for fish",
    "fish-zoonosis-gloves": "See a doctor",
    "ask-locally": "local law",
}
CATALOGUE = read_catalogue()
DAY = after(400)


def everything_due() -> Scene:
    """A day on which all water work is open: fish, a bad test, a vessel, raw crops that bear."""
    return seen_from(
        bare_house(),
        on(START, LoopSet(loop=LOOP)),
        standing("wat1", "W1", crop="watercress", stage=Stage.PICKING),
        struck("wat2", DAY - timedelta(days=20), crop="watercress", count=1),
        set_out("wat2", DAY - timedelta(days=5), ("C1", 1, "wat2")),
        on(DAY - timedelta(days=10), Drained(loop="main", vessel=True)),
        on(DAY, Tested(loop="main", values={"ammonia": 6.0, "ph": 8.0, "temperature": 24.0})),
        today=DAY,
    )


def morning_lines() -> list[Line]:
    """The lines of the rounds of that day."""
    return list(rounds_of(everything_due(), HOUSE, 3).lines)


@pytest.mark.parametrize("caution", OF_THE_WATER)
def test_a_caution_of_the_water_is_on_at_least_one_duty_or_crop(caution: str) -> None:
    """A caution that travels with nothing warns nobody."""
    on_duties = [duty.id for duty in CATALOGUE.duties.values() if caution in duty.cautions]
    on_crops = [crop.id for crop in CATALOGUE.crops.values() if caution in crop.cautions]
    assert on_duties + on_crops
    assert OF_THE_WATER[caution] in CATALOGUE.cautions[caution].text


@pytest.mark.parametrize("caution", OF_THE_WATER)
def test_a_caution_of_the_water_is_printed_with_the_rounds(caution: str) -> None:
    """In full when it is asked for in full, and its first sentence always."""
    listed = MorningList(
        rounds=(rounds_of(everything_due(), HOUSE, 3),), cautions=dict(CATALOGUE.cautions)
    )
    short = " ".join(laid_out(listed, width=80, colour=False))
    whole = " ".join(laid_out(listed, width=80, colour=False, whole_cautions=True))
    text = CATALOGUE.cautions[caution].text
    assert OF_THE_WATER[caution] in " ".join(whole.split())
    assert text.partition(". ")[0].rstrip(".") in " ".join(short.split())


@pytest.mark.parametrize("caution", OF_THE_WATER)
def test_a_caution_of_the_water_is_written_in_the_calendar(caution: str) -> None:
    """The phone's calendar carries the whole text, for nobody looks up a number there."""
    scene = everything_due()
    notices = [
        notice_of(line, CATALOGUE.cautions) for line in outlook(scene, DAY + timedelta(days=120))
    ]
    assert any(f"Caution: {CATALOGUE.cautions[caution].text}" in one.text for one in notices)


@pytest.mark.parametrize("caution", OF_THE_WATER)
def test_a_caution_of_the_water_is_on_the_lines_that_the_page_is_given(caution: str) -> None:
    """The page shows what its lines carry."""
    assert any(caution in line.cautions for line in morning_lines())


def test_no_caution_gives_a_time_that_is_safe_or_a_ruling_of_its_own() -> None:
    """Wording defers to local codes and licensed practice, and no minutes are promised."""
    for caution in OF_THE_WATER:
        text = CATALOGUE.cautions[caution].text
        assert "minute" not in text
        assert "is safe to" not in text
