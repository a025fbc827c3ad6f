"""The keys a crop's figures may have: what each means and the unit it must be in.

One table for the reader, the checker and the command that shows a crop.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One kind of figure: its units and what it says."""

    units: tuple[str, ...]
    says: str


_DAYS = ("d", "degC d")

CROP_KEYS: Mapping[str, Key] = {
    "cutting_days_to_root": Key(units=("d",), says="a cutting struck to rooted"),
    "runner_days_to_root": Key(units=("d",), says="a runner pegged to rooted"),
    "division_days_to_root": Key(units=("d",), says="a division potted to rooted"),
    "slip_days_to_root": Key(units=("d",), says="a slip struck to rooted"),
    "layer_days_to_root": Key(units=("d",), says="a layer pegged to rooted"),
    "seed_days_to_emerge": Key(units=("d",), says="seed sown to seedling up"),
    "cutting_success": Key(units=("share",), says="share of cuttings that root"),
    "runner_success": Key(units=("share",), says="share of runners that root"),
    "division_success": Key(units=("share",), says="share of divisions that take"),
    "slip_success": Key(units=("share",), says="share of slips that root"),
    "layer_success": Key(units=("share",), says="share of layers that root"),
    "seed_success": Key(units=("share",), says="share of seeds that give a good seedling"),
    "rooted_to_ready": Key(units=("d",), says="rooted to fit to set out"),
    "emerged_to_ready": Key(units=("d",), says="seedling up to fit to set out"),
    "days_can_hold": Key(units=("d",), says="a plant fit to set out can wait"),
    "set_out_to_flower": Key(units=_DAYS, says="set out to first open flower"),
    "flower_to_pick": Key(units=_DAYS, says="open flower to ripe fruit"),
    "set_out_to_pick": Key(units=_DAYS, says="set out to first pick"),
    "pollination_interval": Key(units=("d",), says="between passes of pollination"),
    "pick_interval": Key(units=("d",), says="between picks"),
    "side_shoot_interval": Key(units=("d",), says="between removals of side shoots"),
    "deleaf_interval": Key(units=("d",), says="between removals of old leaves"),
    "lower_interval": Key(units=("d",), says="between tyings or lowerings of the stem"),
    "runner_interval": Key(units=("d",), says="between removals of runners"),
    "strip_flowers_for": Key(units=("d",), says="flowers taken off after setting out"),
    "picking_life": Key(units=("d",), says="first pick until the plant is tired"),
    "cuts": Key(units=("cuts",), says="cuts before the plant is spent"),
    "overlap": Key(units=("d",), says="the next plant should bear before the old one goes"),
    "top_before_end": Key(units=("d",), says="top the plant before its last pick"),
    "weekly_yield": Key(
        units=("kg/plant/week", "pieces/plant/week", "bunches/plant/week"),
        says="harvest of a plant in full bearing",
    ),
    "mother_from": Key(units=("d",), says="set out until fit to take cuttings from"),
    "shoots_per_week": Key(units=("shoots/plant/week",), says="cuttings a mother gives"),
    "generations": Key(units=("generations",), says="cuttings of cuttings before fresh stock"),
    "light_target": Key(units=("mol/m2/d",), says="daily light the crop wants"),
    "temp_low": Key(units=("degC",), says="air below which it stands still or suffers"),
    "temp_high": Key(units=("degC",), says="air above which it suffers"),
    "light_floor": Key(units=("mol/m2/d",), says="daily light below which it hardly grows"),
    "planted_area": Key(units=("m2/plant",), says="ground a plant covers"),
}
