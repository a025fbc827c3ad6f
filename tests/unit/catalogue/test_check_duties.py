"""Each kind of fault in a duty is found, on its own line."""

import pytest
from catalogue_samples import DUTY, READ, faults_of, line_of

DUTY_CASES = {
    "code too long": ('code = "po"', 'code = "pol"', "'code' must be two small letters"),
    "job too long": (
        '"Pollinate {crop}"',
        f'"Pollinate {{crop}} {"x" * 60}"',
        "60 fit on a line of the rounds",
    ),
    "job with an unknown blank": ("{crop}", "{plant}", "'job' cannot name '{plant}'"),
    "job as a number": ('"Pollinate {crop}"', "5", "'job' must be text in quotes"),
    "unknown subject": ('"planting"', '"plants"', "choose from planting, place, loop, house"),
    "unknown trigger": ('"interval"', '"intervals"', "did you mean 'interval'?"),
    "unknown part": ('"midday"', '"noon"', "choose from morning, midday, evening, any"),
    "unknown keeps": ('"stays"', '"stay"', "did you mean 'stays'?"),
    "unknown rank": ('"now-or-lost"', '"urgent"', "choose from fish, water, now-or-lost"),
    "minutes as text": ("minutes_each = 0.2", 'minutes_each = "0.2"', "must be a number"),
    "minutes below nothing": ("minutes_each = 0.2", "minutes_each = -1", "must be 0 or more"),
    "unknown key of a figure": (
        '"pollination_interval"',
        '"polination_interval"',
        "did you mean 'pollination_interval'?",
    ),
    "unknown stage": ('"flowering", "fruiting"', '"flowring"', "did you mean 'flowering'?"),
    "unknown pollination": ('["shake"]', '["shak"]', "did you mean 'shake'?"),
    "caution that is not there": ('["ladder"]', '["lader"]', "did you mean 'ladder'?"),
}


@pytest.mark.parametrize("case", DUTY_CASES)
def test_a_spoilt_duty_is_found_on_its_line(case: str) -> None:
    """A duty's words are checked against the lists that the schedule knows."""
    old, new, said = DUTY_CASES[case]
    text = DUTY.replace(old, new, 1)
    found = faults_of(text, "duties.toml")
    assert len(found) == 1, found
    assert found[0].startswith(f"duties.toml:{line_of(text, new)}: ")
    assert said in found[0]


def test_a_duty_counts_in_one_way_only() -> None:
    """An interval is a figure of its own or a figure of the crop, not both and not neither."""
    neither = DUTY.replace('every_key = "pollination_interval"\n', "")
    both = DUTY + '\n[duty.pollinate.every]\ntypical = 2\nunit = "d"\n' + READ
    for text in (neither, both):
        assert faults_of(text, "duties.toml") == [
            "duties.toml:1: a duty with an interval needs either 'every', a figure, or 'every_key'"
        ]


def test_a_watch_says_what_it_waits_for() -> None:
    """A watch without the stage it awaits would never end."""
    text = DUTY.replace('"interval"', '"watch"').replace(
        'every_key = "pollination_interval"\n', 'awaits = ""\n'
    )
    assert any("a watch needs 'awaits'" in fault for fault in faults_of(text, "duties.toml"))


def test_a_duty_done_once_has_no_interval() -> None:
    """Pulling a spent planting does not come round."""
    text = DUTY.replace('"interval"', '"pull"')
    place = line_of(text, "every_key")
    assert faults_of(text, "duties.toml") == [
        f"duties.toml:{place}: a duty of kind 'pull' has no interval"
    ]
