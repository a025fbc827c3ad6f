"""A crop and a duty without a fault, to be spoilt, and what the check says of a text."""

from __future__ import annotations

from cropplan.catalogue.check import Known, check_text

KNOWN = Known(
    sources={"S01", "S05", "M00", "P00"}, cautions={"raw-greens", "ladder"}, crops={"tomato"}
)

FRUIT = """\
[crop]
id = "gherkin"
name = "Gherkin"
plural = "gherkins"
tag = "ghe"
family = "gourd"
habit = "fruit"
ways = ["cutting", "seed"]
places = ["bucket"]
pollination = "brush"
pollination_why = "brush each flower"
pick_unit = "kg"
cautions = ["raw-greens"]
"""

FIGURES = (
    ("cutting_days_to_root", 10, "d"),
    ("cutting_success", 0.9, "share"),
    ("seed_days_to_emerge", 5, "d"),
    ("seed_success", 0.9, "share"),
    ("rooted_to_ready", 7, "d"),
    ("emerged_to_ready", 21, "d"),
    ("days_can_hold", 7, "d"),
    ("set_out_to_flower", 30, "d"),
    ("flower_to_pick", 20, "d"),
    ("pollination_interval", 2, "d"),
    ("pick_interval", 3, "d"),
    ("picking_life", 90, "d"),
    ("overlap", 7, "d"),
    ("weekly_yield", 0.5, "kg/plant/week"),
    ("mother_from", 28, "d"),
    ("shoots_per_week", 1, "shoots/plant/week"),
    ("generations", 3, "generations"),
    ("light_target", 20, "mol/m2/d"),
    ("temp_low", 12, "degC"),
    ("temp_high", 32, "degC"),
    ("planted_area", 0.4, "m2/plant"),
)

GHERKIN = FRUIT + "".join(
    f'\n[values.{key}]\ntypical = {typical}\nunit = "{unit}"\nsource = "S01"\ntrust = "read"\n'
    for key, typical, unit in FIGURES
)

DUTY = """\
[duty.pollinate]
code = "po"
job = "Pollinate {crop}"
subject = "planting"
trigger = "interval"
part = "midday"
keeps = "stays"
rank = "now-or-lost"
minutes_each = 0.2
every_key = "pollination_interval"
stages = ["flowering", "fruiting"]
pollinations = ["shake"]
cautions = ["ladder"]
"""

READ = 'source = "S01"\ntrust = "read"'


def figure(key: str, lines: str) -> str:
    """The gherkin with one figure written anew."""
    start = GHERKIN.index(f"[values.{key}]")
    end = GHERKIN.find("\n[", start)
    return f"{GHERKIN[:start]}[values.{key}]\n{lines}\n{GHERKIN[end:] if end > 0 else ''}"


def faults_of(text: str, file: str = "gherkin.toml") -> list[str]:
    """The faults as a grower reads them."""
    return [str(fault) for fault in check_text(file, text, KNOWN)]


def line_of(text: str, wanted: str) -> int:
    """The line, from 1, on which a piece of text first stands."""
    assert wanted in text
    return text[: text.index(wanted)].count("\n") + 1
