"""The season plan in words and as plain values."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Any

from cropplan.cli.show import plain, table, width
from cropplan.desk.season import PlanAhead, Proposal
from cropplan.desk.terms import day_text, list_text, mass_text
from cropplan.desk.terms_ahead import Reason, Remedy
from cropplan.holding.house import Units
from cropplan.holding.season import PlannedStrike, PlannedWeek, SeasonPlan

#: Below this share of the goal a week is thin, above the other it is a glut.
THIN, GLUT = 0.9, 1.3
_BAR = 8
#: Changes of a plan so near are told one by one.
_NEAR = timedelta(weeks=8)


def proposed(told: Proposal, today: date) -> Iterator[str]:
    """A proposal: how good it is, what to begin, the thin weeks and why, what has changed."""
    plan_ = told.plan
    yield (
        f"{day_text(plan_.made, today)} to {day_text(plan_.until, today)}: {told.status}; "
        f"{1 - told.shortfall:.0%} of what is wanted"
    )
    yield f"a better plan could add {told.gap:.1%} of it at most"
    yield ""
    yield from _strikes(plan_.strikes, today)
    yield from _ends(plan_, today)
    if told.apart:
        yield ""
        yield f"without a goal, their places left to them: {list_text(told.apart, most=9)}"
    yield from _thin(told, today)
    yield from _changes(told, today)
    yield ""
    yield "'cropplan season show' has it week by week; 'cropplan season accept' puts it in force."


def _changes(told: Proposal, today: date) -> Iterator[str]:
    """The near changes one by one; of those far off, which may change again, how many."""
    if told.changed:
        yield ""
        yield "CHANGES TO THE PLAN IN FORCE"
    near = [change for change in told.changed if change.on < today + _NEAR]
    yield from (f"  {change.words}" for change in near)
    if later := len(told.changed) - len(near):
        yield f"  and {later} later than {day_text(today + _NEAR, today)}; --json has them all"


def _strikes(strikes: tuple[PlannedStrike, ...], today: date) -> Iterator[str]:
    if not strikes:
        yield "nothing new to begin"
        return
    rows = []
    for together in _same_work(strikes):
        first = together[0]
        count = sum(strike.count for strike in together)
        mothers = dict.fromkeys(tag for strike in together for tag in strike.mothers)
        places = dict.fromkeys(code for strike in together for code in strike.places)
        rows.append(
            (
                day_text(first.on, today),
                f"{count} {first.crop} ({first.way.value})",
                list_text(list(mothers), most=2),
                list_text(list(places), most=3),
                day_text(min(strike.first_pick for strike in together), today),
            )
        )
    yield from table(rows, ("begin", "what", "from", "goes to", "first pick"))


def _same_work(strikes: tuple[PlannedStrike, ...]) -> list[list[PlannedStrike]]:
    """Strikes of one crop on one day, in the order of days: one work, whatever becomes of them."""
    works: dict[tuple[date, str, str], list[PlannedStrike]] = {}
    for strike in strikes:
        works.setdefault((strike.on, strike.crop, strike.way.value), []).append(strike)
    return list(works.values())


def _ends(plan_: SeasonPlan, today: date) -> Iterator[str]:
    together: dict[date, list[str]] = {}
    for end in sorted(plan_.ends, key=lambda end: end.on):
        together.setdefault(end.on, []).append(end.tag)
    if together:
        yield ""
        yield "TO MAKE ROOM"
    for on, tags in together.items():
        yield f"  {day_text(on, today)}: pull {list_text(tags, most=9)}"


def _thin(told: Proposal, today: date) -> Iterator[str]:
    if told.thin:
        yield ""
        yield "WEEKS THAT STAY THIN, AND WHAT WOULD HELP (cheapest first)"
    for run in told.thin:
        first = told.monday + timedelta(weeks=run.from_week)
        last = told.monday + timedelta(weeks=run.until_week, days=-1)
        unit = told.units.get(run.goal, "")
        yield (
            f"  {run.goal}, {day_text(first, today)} to {day_text(last, today)}: "
            f"{run.missing:.2g} {unit} missing"
        )
        for reason in run.reasons:
            yield f"    {reason.cause.value}: {_remedy(reason, unit, told.monday, today)}"


def _remedy(reason: Reason, unit: str, monday: date, today: date) -> str:
    """What would help, how much of it, and what it would bring."""
    number, subject = reason.number, reason.subject
    if reason.remedy is Remedy.FILLER:
        first = day_text(monday + timedelta(weeks=number), today)
        return f"{subject} begun today is picked sooner, from {first}"
    what = {
        Remedy.BRING_IN: f"bring in {subject} to take cuttings from",
        Remedy.EARLIER: f"begin {subject} {number} weeks earlier next time",
        Remedy.MOTHERS: f"keep {number} more mother plants of {subject}",
        Remedy.TRAYS: f"have room for {number} more in trays",
        Remedy.PLACES: f"have {number} more {subject} places",
        Remedy.LAMPS: "light the plants with lamps",
    }[reason.remedy]
    return f"{what}: {reason.closes:.2g} {unit} more"


def weeks_of(
    plan_: SeasonPlan, units: Mapping[str, str], today: date, weeks: int, *, in_force: bool
) -> Iterator[str]:
    """A plan, in force or proposed: what to begin next, and each week against its goal."""
    state = "in force" if in_force else "proposed, not accepted yet"
    yield f"season plan of {day_text(plan_.made, today)} to {day_text(plan_.until, today)}, {state}"
    yield ""
    coming = tuple(strike for strike in plan_.strikes if strike.on >= today)
    yield from _strikes(coming[:12], today)
    if len(coming) > 12:
        yield f"and {len(coming) - 12} more; --json has them all"
    yield ""
    crops = list(dict.fromkeys(week.crop for week in plan_.weeks))
    by_week: dict[date, dict[str, PlannedWeek]] = {}
    for week in plan_.weeks:
        if week.week >= today - timedelta(days=6):
            by_week.setdefault(week.week, {})[week.crop] = week
    listed = sorted(by_week.items())[:weeks]
    fits = max(1, (width() - 8) // 18)
    for start in range(0, len(crops), fits):
        some = crops[start : start + fits]
        heads = ("week", *(f"{crop} {units.get(crop, '')}" for crop in some))
        yield from table(
            [
                (f"{day.day:>2} {day:%b}", *(_cell(found.get(crop)) for crop in some))
                for day, found in listed
            ],
            heads,
        )
        yield ""
    yield "thin: under 90 % of what is wanted; glut: over 130 %; each # is an eighth of it."


def _cell(week: PlannedWeek | None) -> str:
    if week is None or week.goal <= 0:
        return ""
    # As many places for every week of a goal, so that the bars stand under each other.
    places = 0 if week.goal >= 20 else 1 if week.goal >= 2 else 2
    share = week.expected / week.goal
    word = "thin" if share < THIN else "glut" if share > GLUT else "met"
    bar = "#" * min(_BAR, round(share * _BAR))
    return f"{week.expected:.{places}f} {bar:<{_BAR}} {word}"


def work(ahead: PlanAhead, weeks: int, units: Units) -> Iterator[str]:
    """The work with plants and the feed of the fish, week by week."""
    rows = [
        (
            f"{one.week.day:>2} {one.week:%b}",
            _or_none(one.begin),
            _or_none(one.set_out),
            _or_none(one.pull),
            f"{one.minutes / 60:.1f} h",
            f"{mass_text(one.feed_low_g, units)} to {mass_text(one.feed_high_g, units)}",
        )
        for one in ahead.weeks[:weeks]
    ]
    if rows:
        yield ""
        heads = ("week", "begin", "set out", "pull", "work", "fish feed a day")
        yield from table(rows, heads)
        yield ""
        yield "work: with plants; fish, water and house come on top. feed: what plants want."


def _or_none(count: int) -> str:
    return str(count) if count else ""


def to_buy(ahead: PlanAhead, today: date) -> Iterator[str]:
    """What to have in the house, and by when."""
    if ahead.buy:
        yield ""
        yield "TO HAVE IN THE HOUSE"
        yield from table([(day_text(one.by, today), one.what) for one in ahead.buy], ("by", "what"))


def plain_proposal(told: Proposal) -> dict[str, Any]:
    """A proposal as plain values."""
    return {
        **plain_plan(told.plan),
        "status": told.status,
        "gap": told.gap,
        "bound": told.bound,
        "shortfall": told.shortfall,
        "thin": plain(told.thin),
        "changed": [change.words for change in told.changed],
        "apart": list(told.apart),
    }


def plain_plan(plan_: SeasonPlan) -> dict[str, Any]:
    """A plan as plain values."""
    return {
        "from": plan_.made.isoformat(),
        "to": plan_.until.isoformat(),
        "strikes": [
            {
                "on": strike.on.isoformat(),
                "crop": strike.crop,
                "way": strike.way.value,
                "count": strike.count,
                "from": list(strike.mothers),
                "in": list(strike.places),
                "set_out": strike.set_out.isoformat(),
                "first_pick": strike.first_pick.isoformat(),
                "last_pick": strike.last_pick.isoformat(),
            }
            for strike in plan_.strikes
        ],
        "ends": plain(plan_.ends),
        "weeks": plain(plan_.weeks),
    }
