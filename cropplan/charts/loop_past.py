"""The past of a water loop: each test over time with the range to keep, and the feed under it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from cropplan.holding.house import Units
from cropplan.problems import Refusal

#: What is drawn, from the top, with the unit of its axis.
_ROWS = (
    ("ph", "pH"),
    ("ammonia", "ammonia\nmg/L"),
    ("nitrite", "nitrite\nmg/L"),
    ("nitrate", "nitrate\nmg/L"),
    ("oxygen", "oxygen\nmg/L"),
    ("temperature", "water\n°C"),
)
_GRAMS_PER_OUNCE = 453.59237 / 16
_ENDINGS = (".svg", ".png")


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopPast:
    """What a picture of a loop shows.

    tests : by key, each (day, value) in order; warmth in °C. feeds : by day. [g]
    ranges : by key, the narrowest range that any life on the water sets.
    """

    name: str
    units: Units
    tests: Mapping[str, Sequence[tuple[date, float]]]
    feeds: Mapping[date, float]
    ranges: Mapping[str, tuple[float | None, float | None]]


def draw(past: LoopPast, file: Path) -> None:
    """Draw into an SVG or PNG file, in black and white.

    Raises Refusal when there is nothing to draw, the ending is another, the drawing library is
    not there, or the file cannot be written.
    """
    if file.suffix.casefold() not in _ENDINGS:
        raise Refusal(f"'{file}' does not say what to draw; end it in .svg or .png")
    rows = [(key, label) for key, label in _ROWS if past.tests.get(key)]
    if not rows and not past.feeds:
        raise Refusal(f"{past.name} has no tests and no feeds to draw yet")
    try:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure
    except ImportError as fault:
        raise Refusal(
            "pictures need matplotlib, which is not installed: pip install 'cropplan[season]'"
        ) from fault
    panels = len(rows) + bool(past.feeds)
    figure = Figure(figsize=(8, 1.2 + 1.1 * panels), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.subplots(panels, 1, sharex=True, squeeze=False)[:, 0]
    for axis, (key, label) in zip(axes, rows, strict=False):
        _tests(axis, key, label, past)
    if past.feeds:
        _feeds(axes[-1], past)
    axes[0].set_title(f"{past.name}: tests and feed; grey is the range to keep", loc="left")
    figure.align_ylabels()
    try:
        figure.savefig(file, dpi=150)
    except OSError as fault:
        raise Refusal(f"cannot write '{file}': {fault.strerror}; name another file") from fault


def _tests(axis: Any, key: str, label: str, past: LoopPast) -> None:
    points = [(day, _as_spoken(key, value, past.units)) for day, value in past.tests[key]]
    low, high = (
        None if end is None else _as_spoken(key, end, past.units)
        for end in past.ranges.get(key, (None, None))
    )
    values = [value for _, value in points]
    bottom = min([*values, *([low] if low is not None else [])])
    top = max([*values, *([high] if high is not None else [])])
    room = (top - bottom or 1.0) * 0.15
    axis.set_ylim(bottom - room, top + room)
    if low is not None or high is not None:
        axis.axhspan(
            bottom - room if low is None else low,
            top + room if high is None else high,
            color="0.88",
            linewidth=0,
        )
    axis.plot([day for day, _ in points], values, color="black", marker="o", markersize=3, lw=0.8)
    out = [
        (day, value)
        for day, value in points
        if (low is not None and value < low) or (high is not None and value > high)
    ]
    axis.plot(
        [day for day, _ in out],
        [value for _, value in out],
        linestyle="none",
        marker="x",
        markersize=8,
        color="black",
    )
    us = past.units is Units.US
    axis.set_ylabel(label.replace("°C", "°F") if us else label)


def _feeds(axis: Any, past: LoopPast) -> None:
    us = past.units is Units.US
    per = _GRAMS_PER_OUNCE if us else 1.0
    amounts = [grams / per for grams in past.feeds.values()]
    axis.bar(list(past.feeds), amounts, color="0.4", width=0.9)
    axis.set_ylabel("feed\noz a day" if us else "feed\ng a day")


def _as_spoken(key: str, value: float, units: Units) -> float:
    return value * 1.8 + 32 if key == "temperature" and units is Units.US else value
