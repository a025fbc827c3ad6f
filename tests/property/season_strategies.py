"""Small random seasons, every rule of the planner in some of them."""

from __future__ import annotations

from hypothesis import strategies as st

from cropplan.season.demand import (
    CropOption,
    Goal,
    Mothering,
    Origin,
    PlaceKind,
    Season,
    Standing,
)

CROPS = ("tomato", "basil")


@st.composite
def crop_options(draw: st.DrawFn, crop: str, weeks: int, origin: Origin) -> CropOption:
    """One way to raise a crop in a horizon of a few weeks."""
    tray = draw(st.sampled_from(("tray", None))) if origin is Origin.SOWN else "tray"
    tray_weeks = draw(st.integers(1, 2)) if tray else 0
    lead = max(1, tray_weeks + draw(st.integers(0, 1)))
    slow = draw(st.integers(0, weeks))
    curve = draw(st.lists(st.sampled_from((0.5, 1.0, 1.5)), min_size=2, max_size=3))
    stays = draw(st.sets(st.integers(1, len(curve)), min_size=1, max_size=2))
    mothering = draw(
        st.none()
        | st.builds(
            Mothering,
            shoots=st.sampled_from((0.5, 1.0, 2.0)),
            fit_from=st.integers(0, 2),
            fit_until=st.integers(2, 6),
            generation_cap=st.none() | st.integers(1, 2),
        )
    )
    return CropOption(
        crop=crop,
        origin=origin,
        kinds=("bucket",),
        tray=tray,
        tray_weeks=(tray_weeks,) * weeks,
        lead_weeks=tuple(lead + (week >= slow) for week in range(weeks)),
        hold_weeks=draw(st.integers(0, 1)),
        curve=tuple(curve),
        light=tuple(draw(st.sampled_from((0.4, 0.8, 1.0))) for _ in range(weeks)),
        stays=tuple(stays),
        success=draw(st.sampled_from((0.7, 0.9, 1.0))),
        certainty=0.8,
        mothering=mothering,
        keep_alive=draw(st.sampled_from((0, 0, 1, 2))),
    )


@st.composite
def standings(draw: st.DrawFn, crop: str, tag: str, weeks: int) -> Standing:
    """One planting that stands, or is decided."""
    set_out = draw(st.sampled_from((-3, -1, 1)))
    until = draw(st.integers(max(1, set_out + 1), weeks + 1))
    return Standing(
        tag=tag,
        crop=crop,
        kind="bucket",
        count=draw(st.integers(1, 2)),
        set_out=set_out,
        until=until,
        picks=tuple(draw(st.sampled_from((0.0, 0.5, 1.0))) for _ in range(min(until, weeks))),
        tray="tray" if set_out > 0 else None,
        tray_places=1 if set_out > 0 else 0,
        struck=draw(st.sampled_from((None, 0))) if set_out > 0 else None,
        cuttings=1,
        shoots=draw(st.sampled_from((0.5, 2.0, 2.0))),
        fit_from=draw(st.integers(-2, 1)),
        fit_until=draw(st.integers(0, until)) if draw(st.booleans()) else until,
        generation=draw(st.integers(0, 1)),
        propagate=draw(st.sampled_from((True, True, True, False))),
        pull_early=draw(st.booleans()),
        splits=draw(st.booleans()),
    )


@st.composite
def seasons(draw: st.DrawFn) -> Season:
    """A season small enough to try out every plan for it."""
    weeks = draw(st.integers(5, 8))
    crops = CROPS[: draw(st.integers(1, 2))]
    options: list[CropOption] = []
    for crop in crops:
        origins = draw(st.sampled_from(((Origin.STRUCK,), (Origin.SOWN,), tuple(Origin))))
        options.extend(draw(crop_options(crop, weeks, origin)) for origin in origins[:1])
        if len(origins) > 1 and len(crops) == 1:
            options.append(draw(crop_options(crop, weeks, origins[1])))
    standing = tuple(
        draw(standings(draw(st.sampled_from(crops)), f"p{number}", weeks))
        for number in range(draw(st.sampled_from((1, 1, 2, 0))))
    )
    first = draw(st.integers(0, 2))
    return Season(
        weeks=weeks,
        goals=tuple(
            Goal(
                name=crop,
                crops=(crop,),
                amount=draw(st.sampled_from((0.7, 1.0, 2.0, 3.0))),
                weight=draw(st.sampled_from((1.0, 2.5))),
                from_week=first,
                until_week=weeks,
            )
            for crop in crops
        ),
        kinds=(
            PlaceKind(
                kind="bucket",
                capacity=(draw(st.integers(1, 3)) + sum(p.count for p in standing[:1]),) * weeks,
                gap_weeks=draw(st.integers(0, 1)),
            ),
            PlaceKind(kind="tray", capacity=(draw(st.integers(2, 4)),) * weeks),
        ),
        options=tuple(options),
        standing=standing,
        away=frozenset(draw(st.sets(st.integers(1, weeks - 1), max_size=1))),
        not_setting_out=frozenset(draw(st.sets(st.integers(0, weeks - 1), max_size=1))),
        frozen_weeks=draw(st.integers(0, 1)),
        pull_step=draw(st.integers(1, 2)),
    )
