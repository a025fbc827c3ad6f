"""The season as a picture: places and what stands in them, the pick against the goal, the light.

Readable without colour: crops differ by hatch and are named on their bars, picking is drawn full
and raising pale, goals are steps and expected picks lines with their span shaded.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cropplan.holding.season import PlannedWeek
from cropplan.problems import Refusal

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

#: Okabe & Ito 2008, a set of colours that the colour-blind can tell apart.
_COLOURS = ("#E69F00", "#56B4E9", "#009E73", "#F0E442", "#0072B2", "#D55E00", "#CC79A7", "#999999")
_HATCHES = ("//", "..", "\\\\", "xx", "--", "oo", "++", "||")
_FORMATS = {".svg": "svg", ".png": "png"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """Plants in one place, from setting out to the end; picked from `picks` on.

    planned : not standing yet.
    """

    place: str
    crop: str
    label: str
    begins: date
    picks: date | None
    ends: date
    planned: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonPicture:
    """All that the picture shows.

    places : codes in walking order. light : day, day length [h], light on the plants
        [mol m⁻² d⁻¹].
    """

    title: str
    today: date
    until: date
    places: Sequence[str]
    bars: Sequence[Bar]
    weeks: Sequence[PlannedWeek]
    units: Mapping[str, str]
    light: Sequence[tuple[date, float, float]]


def draw_season(picture: SeasonPicture, file: Path) -> None:
    """Draw the season into an SVG or PNG file.

    Raises Refusal when the drawing library is missing or the file cannot be written.
    """
    ending = _FORMATS.get(file.suffix.casefold())
    if ending is None:
        raise Refusal(f"'{file}' is no picture; name it with .svg or .png at its end")
    try:
        import matplotlib as mpl
        from matplotlib.figure import Figure as NewFigure
    except ImportError:
        raise Refusal("pictures need matplotlib: pip install 'cropplan[season]'") from None
    mpl.rcParams["svg.hashsalt"] = "cropplan"
    crops = list(dict.fromkeys(week.crop for week in picture.weeks))
    height = 2.2 + 0.24 * len(picture.places) + 1.3 * len(crops) + 1.4
    figure = NewFigure(figsize=(10, height), layout="constrained")
    ratios = [0.24 * len(picture.places) + 0.8, *[1.3] * len(crops), 1.4]
    rows = figure.subplots(len(ratios), 1, sharex=True, height_ratios=ratios, squeeze=False)
    axes: list[Axes] = [row[0] for row in rows]
    looks = _looks(picture)
    _draw_places(axes[0], picture, looks)
    for axis, crop in zip(axes[1:-1], crops, strict=True):
        _draw_picks(axis, picture, crop, looks[crop][0])
    _draw_light(axes[-1], picture)
    for axis in axes:
        axis.axvline(_number(picture.today), color="black", linewidth=1)
    axes[-1].set_xlim(_number(picture.today) - 7, _number(picture.until))
    _months(axes[-1])
    figure.suptitle(picture.title, fontsize=12)
    _save(figure, file, ending)


def _looks(picture: SeasonPicture) -> dict[str, tuple[str, str]]:
    crops = dict.fromkeys([w.crop for w in picture.weeks] + [bar.crop for bar in picture.bars])
    return {
        crop: (_COLOURS[n % len(_COLOURS)], _HATCHES[n % len(_HATCHES)])
        for n, crop in enumerate(crops)
    }


def _draw_places(axis: Axes, picture: SeasonPicture, looks: Mapping[str, tuple[str, str]]) -> None:
    row = {code: number for number, code in enumerate(picture.places)}
    for bar in picture.bars:
        colour, hatch = looks[bar.crop]
        at = row[bar.place]
        begin, end = _number(bar.begins), _number(bar.ends)
        picks = _number(bar.picks) if bar.picks else end
        edge: dict[str, Any] = {"edgecolor": "black", "linewidth": 0.5}
        style = "dashed" if bar.planned else "solid"
        axis.barh(at, picks - begin, left=begin, height=0.8, color="white", ls=style, **edge)
        if end > picks:
            axis.barh(
                at, end - picks, left=picks, height=0.8, color=colour, hatch=hatch, ls=style, **edge
            )
        low, high = axis.get_xlim()
        if end - begin > 24 and (low, high):
            axis.text(
                max(begin, _number(picture.today)) + 2,
                at,
                bar.label,
                va="center",
                fontsize=6.5,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6},
                clip_on=True,
            )
    axis.set_yticks(range(len(picture.places)), list(picture.places), fontsize=7)
    axis.set_ylim(len(picture.places) - 0.4, -0.6)
    axis.set_title("places: white until the first pick; dashed is planned", fontsize=8, loc="left")


def _draw_picks(axis: Axes, picture: SeasonPicture, crop: str, colour: str) -> None:
    weeks = sorted((w for w in picture.weeks if w.crop == crop), key=lambda w: w.week)
    days = [_number(week.week) for week in weeks]
    axis.fill_between(
        days,
        [week.low for week in weeks],
        [week.high for week in weeks],
        color=colour,
        alpha=0.35,
        step="post",
        label="eight times in ten",
    )
    axis.step(days, [w.expected for w in weeks], where="post", color="black", label="expected")
    axis.step(
        days, [w.goal for w in weeks], where="post", color="black", ls="dotted", label="wanted"
    )
    axis.set_ylim(bottom=0)
    axis.set_ylabel(picture.units.get(crop, ""), fontsize=8)
    axis.set_title(f"{crop}, a week", fontsize=8, loc="left")
    axis.legend(fontsize=6, loc="upper right", ncols=3, frameon=False)
    axis.tick_params(labelsize=7)


def _draw_light(axis: Axes, picture: SeasonPicture) -> None:
    days = [_number(day) for day, _, _ in picture.light]
    axis.plot(days, [hours for _, hours, _ in picture.light], color="black", label="day, hours")
    axis.plot(
        days,
        [mol for _, _, mol in picture.light],
        color="black",
        ls="dashed",
        label="light inside, mol/m² a day",
    )
    axis.axhline(10, color="grey", linewidth=0.5)
    axis.set_ylim(bottom=0)
    axis.legend(fontsize=6, loc="upper right", ncols=2, frameon=False)
    axis.tick_params(labelsize=7)


def _months(axis: Axes) -> None:
    from matplotlib.dates import DateFormatter, MonthLocator

    axis.xaxis.set_major_locator(MonthLocator())
    axis.xaxis.set_major_formatter(DateFormatter("%b"))


def _number(day: date) -> float:
    from matplotlib.dates import date2num

    return float(date2num(day))


def _save(figure: Figure, file: Path, ending: str) -> None:
    try:
        # The same picture gives the same bytes: no date of drawing in it.
        metadata = {"Date": None} if ending == "svg" else {"Software": None}
        figure.savefig(file, format=ending, dpi=120, metadata=metadata)
    except OSError as fault:
        raise Refusal(f"cannot write '{file}': {fault.strerror}; name another file") from fault
