"""What the pictures show, gathered from the record."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

from cropplan.charts.season import Bar, SeasonPicture, draw_season
from cropplan.desk.desk import Desk, Outcome, first_house, scene_on, today_in
from cropplan.desk.season import plan_in_force
from cropplan.growth.light import daily_light_integral
from cropplan.growth.sun import day_length
from cropplan.holding.planting import RAISING, Stage
from cropplan.holding.season import SeasonPlan
from cropplan.schedule.climate import light_of
from cropplan.schedule.lengths import bearing_stage
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import day_text

_WEEK = timedelta(days=7)


def season_picture(desk: Desk, file: Path, *, on: date | None = None) -> Outcome:
    """Draw the plan in force, or the proposal where none is, with what stands now."""
    plan, units, in_force = plan_in_force(desk)
    holding = desk.record.snapshot(living_only=True)
    house = first_house(holding)
    today = on or today_in(desk, house)
    scene = scene_on(desk, holding, today)
    climate = light_of(house)
    days = [today + n * _WEEK for n in range((plan.until - today).days // 7 + 1)]
    bars = [*_standing(scene, plan), *_planned(plan, today)]
    used = {bar.place for bar in bars}
    walk = sorted(holding.places.values(), key=lambda place: place.walk)
    state = "in force" if in_force else "proposed"
    draw_season(
        SeasonPicture(
            title=f"{house.name}: season plan, {state}, {day_text(today)} {today.year} to "
            f"{day_text(plan.until)} {plan.until.year}",
            today=today,
            until=plan.until,
            places=[place.code for place in walk if place.code in used],
            bars=bars,
            weeks=plan.weeks,
            units=units,
            light=[
                (day, day_length(house.latitude, day), daily_light_integral(climate, day))
                for day in days
            ],
        ),
        file,
    )
    return Outcome(said=(f"{file}: drawn",))


def _standing(scene: Scene, plan: SeasonPlan) -> Iterator[Bar]:
    """What stands, what waits in trays for its place, and what follows where no goal is set."""
    until = {stand.tag: stand.until for stand in plan.stands}
    places = {stand.tag: stand.places for stand in plan.stands}
    planned = {week.crop for week in plan.weeks}
    for planting in scene.holding.plantings.values():
        raising = planting.stage in RAISING
        if not planting.alive or (raising and not places.get(planting.tag)):
            continue
        crop = scene.catalogue.crops[planting.crop]
        dates = scene.timelines[planting.tag].dates
        out, first = dates.get(Stage.SET_OUT), dates.get(bearing_stage(crop))
        spent = dates.get(Stage.SPENT)
        begins = out.likely if out else scene.today
        last = until.get(planting.tag) or (spent.likely if spent else plan.until)
        for place in places[planting.tag] if raising else (planting.place,):
            yield Bar(
                place=place,
                crop=planting.crop,
                label=planting.tag,
                begins=begins,
                picks=first.likely if first else begins,
                ends=max(last, scene.today),
                planned=raising,
            )
        if not raising and planting.crop not in planned and last < plan.until:
            yield Bar(
                place=planting.place,
                crop=planting.crop,
                label=f"left to {crop.plural}",
                begins=max(last, scene.today),
                picks=plan.until,
                ends=plan.until,
                planned=True,
            )


def _planned(plan: SeasonPlan, today: date) -> Iterator[Bar]:
    for strike in plan.strikes:
        for code in strike.places:
            yield Bar(
                place=code,
                crop=strike.crop,
                label=f"{strike.crop}, begin {day_text(strike.on, today)}",
                begins=strike.set_out,
                picks=strike.first_pick,
                ends=strike.last_pick,
                planned=True,
            )
