"""What is really so in an invented house, whether or not anybody sees it or writes it down.

Plants take the catalogue's time, times a factor of the house, times one of the planting's own,
in the warmth of the day; cuttings fail, plants fall ill, fish grow. The grower of `grower` sees
some of it. The weather outside is real: daily lows and highs of Seattle, from NOAA's records as
the vega_datasets package carries them (public domain).
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from importlib.util import find_spec
from math import exp
from pathlib import Path
from random import Random

from cropplan.catalogue.model import Crop
from cropplan.growth.light import daily_light_integral
from cropplan.growth.stages import DayConditions, Weather, finish, start_for
from cropplan.growth.warmth import DayWarmth, house_temperature
from cropplan.holding.house import House
from cropplan.holding.planting import RAISING, Planting, Stage
from cropplan.schedule.climate import SUN_LIFT_K, VENTS_OPEN_C, light_of, usual_warmth
from cropplan.schedule.lengths import bearing_stage, pace_for, steps_from

HOUSE_TO_HOUSE, TRAY_TO_TRAY, PLANT_TO_PLANT = 0.15, 0.10, 0.08
"""Spread of the logarithm of a stage's length about the catalogue's. [-] Invented."""

SUNNY, DULL = 1.25, 0.75
"""Light of a day that was noted as sunny or as anything else, against the usual. [-] Invented."""

ILL_ONCE_IN = 1800
"""Days that a planting stands, on average, before something happens to one of its plants. [d]
Invented."""

TENDER_C, KILLS_C = 12.0, 2.0
"""A crop that wants at least the one may die in a night as cold as the other. [°C] Invented."""

MADE_IN = 30
"""Days whose light has made what is picked on a day. [d] Invented."""

GAIN_G, LARGEST_G = 0.45, 320.0
"""What a fish gains in a day, and where it stops. [g] Invented."""

NEVER = date.max


@dataclass(frozen=True, slots=True, kw_only=True)
class Sky:
    """The weather outside on one day. [°C]"""

    low_c: float
    high_c: float
    sunny: bool


def seattle(moved_by_years: int) -> dict[date, Sky]:
    """Seattle's days, 2012 to 2015, with their dates moved by whole years.

    A 29 February that the other year lacks is left out.
    """
    spec = find_spec("vega_datasets")
    if spec is None or not spec.submodule_search_locations:
        raise ModuleNotFoundError("vega_datasets is missing: install the test extras")
    file = Path(spec.submodule_search_locations[0], "_data", "seattle-weather.csv")
    days = {}
    with file.open(newline="", encoding="utf-8") as rows:
        for row in csv.DictReader(rows):
            year, month, day = map(int, row["date"].split("/"))
            if (month, day) == (2, 29) and (year + moved_by_years) % 4:
                continue
            days[date(year + moved_by_years, month, day)] = Sky(
                low_c=float(row["temp_min"]),
                high_c=float(row["temp_max"]),
                sunny=row["weather"] == "sun",
            )
    return days


def inside(house: House, sky: Sky, *, heated: bool = True) -> DayWarmth:
    """Low and high in the house on a day, by the rule of `growth.warmth.house_temperature`."""
    return house_temperature(
        DayWarmth(low=sky.low_c, high=sky.high_c),
        day_set_c=house.day_c if heated else None,
        night_set_c=house.night_c if heated else None,
        sun_rise_c=SUN_LIFT_K,
        vent_c=VENTS_OPEN_C,
    )


def weather_in(
    house: House, skies: Mapping[date, Sky], outages: frozenset[date] = frozenset()
) -> Weather:
    """The true conditions in a house by day; the usual ones where no weather is known.

    outages : the days whose night the heater was out.
    """
    known: dict[date, DayConditions] = {}

    def conditions(day: date) -> DayConditions:
        if day not in known:
            sky = skies.get(day)
            usual = daily_light_integral(light_of(house), day)
            lamps = house.lamp_mol
            if sky is None:
                known[day] = DayConditions(warmth=usual_warmth(house, day), dli=usual)
            else:
                sun = (usual - lamps) * (SUNNY if sky.sunny else DULL)
                warmth = inside(house, sky, heated=day not in outages)
                known[day] = DayConditions(warmth=warmth, dli=sun + lamps)
        return known[day]

    return conditions


@dataclass(slots=True, kw_only=True)
class Fate:
    """What will become of one planting.

    roots, fails : days on which its plants root, or can be seen to have failed, in order.
    shows : the day each later stage can first be seen. cuts : how often it can be cut.
    """

    roots: list[date] = field(default_factory=list)
    fails: list[date] = field(default_factory=list)
    shows: dict[Stage, date] = field(default_factory=dict)
    cuts: int | None = None
    stands: bool = False


class Truth:
    """The invented house as it is. Each planting's fate hangs on its tag and the seed alone."""

    def __init__(
        self,
        *,
        seed: int,
        weather: Weather,
        crop: Callable[[str], Crop],
        ill: Mapping[str, date] | None = None,
        fish: Sequence[tuple[date, float]] = (),
    ) -> None:
        """Set the scene.

        ill : the day on which disease breaks out in a place, by place.
        fish : the mean weight of a fish from a day on, rising by day. [g]
        """
        self._ill = ill or {}
        self._fish = fish
        self.weather = weather
        self.crop = crop
        self._seed = seed
        self._fates: dict[str, Fate] = {}
        self._house: dict[tuple[str, str], float] = {}

    def meet(self, planting: Planting, today: date) -> Fate:
        """The fate of a planting; drawn when it is first met, and again when it is set out."""
        fate = self._fates.get(planting.tag)
        if fate is None:
            fate = self._fates[planting.tag] = Fate()
            if planting.stage in {Stage.STRUCK, Stage.SOWN}:
                self._draw_raising(fate, planting, planting.started or today)
        if not fate.stands and planting.stage not in RAISING:
            fate.stands = True
            self._draw_standing(fate, planting, today)
        return fate

    def rooted(self, planting: Planting, day: date) -> int:
        """How many of its plants have roots, or are up, on a day."""
        up = sum(when <= day for when in self._fates[planting.tag].roots)
        return min(planting.count, max(0, up - planting.split_off - planting.left))

    def failed(self, planting: Planting, day: date) -> int:
        """How many have visibly failed by a day and are not yet written as lost."""
        fate = self._fates[planting.tag]
        return min(planting.count, max(0, sum(w <= day for w in fate.fails) - planting.lost))

    def shows(self, planting: Planting, stage: Stage, day: date) -> bool:
        """Whether a stage can be seen on a day."""
        fate = self._fates[planting.tag]
        if stage is Stage.SPENT and fate.cuts is not None and planting.cuts >= fate.cuts:
            return True
        return fate.shows.get(stage, NEVER) <= day

    def pick(self, planting: Planting, day: date) -> float:
        """What is ripe on it, in the crop's own unit; 0 before it bears and once it is spent."""
        crop = self.crop(planting.crop)
        bears = self._fates[planting.tag].shows.get(bearing_stage(crop), NEVER)
        figure = crop.values.get("weekly_yield")
        since = max(bears - timedelta(days=3), planting.last_picked or bears - timedelta(days=3))
        if figure is None or day < bears or self.shows(planting, Stage.SPENT, day):
            return 0.0
        made_in = [day - timedelta(days=n) for n in range(MADE_IN)]
        light = sum(self.weather(each).dli for each in made_in) / MADE_IN
        bright = min(1.2, 0.4 + light / 20)
        chance = self._chance(planting.tag, f"pick {day}")
        weeks = min(21, (day - since).days) / 7
        return figure.typical * planting.count * weeks * bright * exp(chance.gauss(0, 0.25))

    def fish_weight(self, day: date) -> float:
        """Mean weight of a fish: it grows from what it last was, up to a limit. [g]"""
        since, weight = [(when, grams) for when, grams in self._fish if when <= day][-1]
        grown = weight + GAIN_G * (day - since).days
        return max(weight, min(grown, LARGEST_G))

    def mishap(self, planting: Planting, day: date) -> str | None:
        """What befalls one plant of a planting on a day, if anything."""
        if self._ill.get(planting.place) == day:
            return "disease"
        chance = self._chance(planting.tag, f"mishap {day}")
        if chance.random() > 1 / ILL_ONCE_IN:
            return None
        return chance.choice(("disease", "stem broken", "slugs", "disease"))

    def chilled(self, planting: Planting, day: date) -> int:
        """How many of its plants a cold night has killed."""
        crop = self.crop(planting.crop)
        least = crop.values.get("temp_low")
        low = self.weather(day).warmth.low
        if least is None or least.typical < TENDER_C or low > KILLS_C:
            return 0
        chance = self._chance(planting.tag, f"cold {day}")
        return sum(chance.random() < 0.35 for _ in range(planting.count))

    def _draw_raising(self, fate: Fate, planting: Planting, start: date) -> None:
        crop, way = self.crop(planting.crop), planting.way
        _, _, key = steps_from(crop, way)[0]
        success = crop.values.get(f"{way.value}_success")
        share = min(0.98, success.typical * 0.93) if success else 0.9
        chance = self._chance(planting.tag, "raising")
        tray = self._ratio(crop, key) * exp(chance.gauss(0, TRAY_TO_TRAY))
        for _ in range(planting.count):
            ratio = tray * exp(chance.gauss(0, PLANT_TO_PLANT))
            if chance.random() < share:
                fate.roots.append(self._after(crop, key, start, ratio))
            else:
                fate.fails.append(self._after(crop, key, start, ratio * chance.uniform(0.6, 1.7)))

    def _draw_standing(self, fate: Fate, planting: Planting, today: date) -> None:
        crop = self.crop(planting.crop)
        chance = self._chance(planting.tag, "standing")
        day = planting.seen.get(planting.stage, planting.since) or today
        at = planting.stage
        if at is Stage.SET_OUT and planting.started is None:
            day = today
        for begin, end, key in steps_from(crop, planting.way):
            if begin is at:
                ratio = self._ratio(crop, key) * exp(chance.gauss(0, TRAY_TO_TRAY))
                if end is Stage.SPENT and at is planting.stage and at not in planting.seen:
                    ratio *= chance.uniform(0.2, 0.9)  # nobody knows how long it has borne
                day = self._after(crop, key, day, ratio)
                fate.shows[end], at = day, end
        bearing = bearing_stage(crop)
        fate.shows.setdefault(bearing, today)
        fruit = fate.shows[bearing]
        if "flower_to_pick" in crop.values and Stage.FLOWERING not in fate.shows:
            opened = start_for(pace_for(crop, "flower_to_pick"), fruit, self.weather)
            fate.shows[Stage.FLOWERING] = opened or today
        cuts = crop.values.get("cuts")
        if cuts is not None:
            fate.cuts = max(1, round(cuts.typical * exp(chance.gauss(0, TRAY_TO_TRAY))))

    def _after(self, crop: Crop, key: str, start: date, ratio: float) -> date:
        return finish(pace_for(crop, key), start, self.weather, ratio) or NEVER

    def _ratio(self, crop: Crop, key: str) -> float:
        """How this house's length of a stage stands to the catalogue's."""
        if (crop.id, key) not in self._house:
            chance = self._chance(crop.id, key)
            self._house[crop.id, key] = exp(chance.gauss(0, HOUSE_TO_HOUSE))
        return self._house[crop.id, key]

    def _chance(self, thing: str, what: str) -> Random:
        return Random(f"{self._seed}/{thing}/{what}")  # noqa: S311 - a story, no secret
