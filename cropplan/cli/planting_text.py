"""Plantings in words: a row of the list, and a life."""

from __future__ import annotations

from collections.abc import Iterator

from cropplan.desk.look import Life
from cropplan.desk.terms import day_text, days_text, plants_text, span_text
from cropplan.holding.planting import Planting, Stage
from cropplan.holding.span import Basis, Dated


def planting_row(one: Planting) -> tuple[str, ...]:
    """One planting in a list."""
    name = one.crop if one.cultivar is None else f"{one.crop} '{one.cultivar}'"
    stage = one.stage.value
    if one.stage in {Stage.STRUCK, Stage.SOWN, Stage.ROOTED, Stage.EMERGED} and one.rooted:
        stage = f"{stage} {one.rooted} of {one.count}"
    since = one.since.isoformat() if one.since else "not known"
    place = one.place if one.alive else f"was {one.place}"
    return one.tag, name, str(one.count), place, stage, since, one.parent or one.split_of or ""


def life_told(life: Life) -> Iterator[str]:
    """A planting's life in lines: what it is, its dates, its numbers, its kin."""
    one = life.planting
    kind = "" if one.cultivar is None else f" '{one.cultivar}'"
    if one.alive:
        yield f"{one.tag}: {plants_text(one.count)} of {one.crop}{kind} in {one.place}"
    else:
        why = f" ({one.ended_why})" if one.ended_why else ""
        yield f"{one.tag}: {one.crop}{kind}, {one.stage.value} on {one.ended_on}{why}"
    yield f"  begun     {_beginning(one)}"
    yield f"  plants    {_tally(one)}"
    if one.cuts:
        amount = f", {one.picked:g} in all" if one.picked else ""
        yield f"  picked    {'once' if one.cuts == 1 else f'{one.cuts} times'}{amount}"
    for mark in _marks(one):
        yield f"  marked    {mark}"
    if life.timeline is not None:
        for stage, dated in sorted(life.timeline.dates.items(), key=lambda item: item[1].likely):
            yield f"  {stage.value:<9} {_dated(dated)}"
    if life.parent:
        yield f"  parent    {life.parent}"
    if life.children:
        yield f"  from it   {', '.join(life.children)}"
    if life.sisters:
        yield f"  its clone {', '.join(life.sisters)}"


def _beginning(one: Planting) -> str:
    from_ = f" from {one.parent}" if one.parent else ""
    row = f", cutting number {one.generation} in a row" if one.generation > 1 else ""
    if one.started is None:
        return f"{one.way.value}{from_}, age not known{row}"
    give = f", give or take {days_text(one.started_give)}" if one.started_give else ""
    return f"{one.way.value}{from_} on {one.started}{give}{row}"


def _tally(one: Planting) -> str:
    parts = [f"{one.begun} begun"]
    for number, word in (
        (one.split_off, "set out elsewhere"),
        (one.lost, "lost"),
        (one.left, "given or sold"),
        (one.pulled, "pulled"),
    ):
        if number:
            parts.append(f"{number} {word}")
    return f"{', '.join(parts)}; {one.count} standing"


def _marks(one: Planting) -> Iterator[str]:
    if one.tagged_mother:
        yield "a mother to take cuttings from"
    if one.barred_why is not None:
        yield f"not to be taken from ({one.barred_why})"
    if one.by_insects:
        yield "pollinated by insects"


def _dated(dated: Dated) -> str:
    if dated.basis is Basis.PREDICTED:
        return (
            f"expected {span_text(dated.earliest, dated.latest)}, likely {day_text(dated.likely)}"
        )
    give = (dated.latest - dated.likely).days
    word = "seen" if dated.basis is Basis.SEEN else "planned"
    return f"{word} {dated.likely}{f', give or take {days_text(give)}' if give else ''}"
