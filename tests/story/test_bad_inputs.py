"""What cannot be is refused in one clear line, with the right code, and nothing changes.

Each case: what is typed, the code it leaves with (1 refused, 2 misuse), and words that the line on
standard error must hold, the typed text among them.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from at_the_terminal import Terminal, content_of
from refusals import lived_in_house, refused

#: (typed, code, words in the line)
CASES: list[tuple[str, int, tuple[str, ...]]] = [
    # Days.
    ("done fi-main --on 2026-02-30", 2, ("'2026-02-30'", "no day of the calendar")),
    ("done fi-main --on 4/3", 2, ("'4/3'", "4 March or 3 April", "2026-03-04")),
    ("done fi-main --on soon", 2, ("'soon'",)),
    ("done fi-main --on 2026-03-21", 1, ("2026-03-21", "still to come")),
    ("done fi-main --on tomorrow", 1, ("2026-03-21", "still to come")),
    ("done fi-main --on 2026-03-12..2026-03-03", 2, ("'2026-03-12..2026-03-03'",)),
    ("done fi-main --on 2026-03-12..2026-04-03", 1, ("2026-03-21", "still to come")),
    ("seen tom2 rooted --on 2026-03-01", 1, ("tom2", "2026-03-02", "2026-03-01")),
    ("seen tom2 rooted --on 2031-01-01", 1, ("2031-01-01", "still to come")),
    ("bring-in tomato 1 --in B3 --started 'about noon'", 2, ("'about noon'",)),
    ("later fi-main --to 2026-03-20", 1, ("2026-03-20", "not later than today")),
    ("later fi-main --to 2027-03-20", 1, ("fi-main", "at the latest")),
    ("away 2026-04-10 2026-04-01", 2, ("2026-04-10", "2026-04-01", "end is before")),
    ("place add C1 --kind pot --filled 2030-01-01", 1, ("2030-01-01", "still to come")),
    # Crops, cultivars and stages.
    ("strike tomatto 4 --from tom1 --in T1", 1, ("'tomatto'", "did you mean")),
    ("sow dragonfruit 4 --in T1", 1, ("'dragonfruit'", "crops list")),
    ("crops show bazil", 1, ("'bazil'", "did you mean 'basil'")),
    ("strike tomato 4 --from tom1 --in T1 --by runner", 1, ("runner", "cutting")),
    ("strike tomato 4 --from tom1 --in T1 --by cuting", 2, ("'cuting'", "'cutting'")),
    ("strike basil 4 --from tom1 --in T1", 1, ("tom1", "basil")),
    ("bring-in tomato 1 --in B3 --cultivar Matinna", 1, ("'Matinna'", "Matina")),
    ("seen tom2 floweering", 2, ("'floweering'", "'flowering'")),
    ("seen tom2 pulled", 2, ("'pulled'", "cropplan pull")),
    ("seen tom2 emerged", 1, ("tom2", "struck", "emerged")),
    ("pick tom2 1kg", 1, ("tom2", "struck")),
    # Places and room.
    ("strike tomato 41 --from tom1 --in T1", 1, ("T1", "no room for 41")),
    ("bring-in tomato 1 --in B1", 1, ("B1", "tom1", "no room")),
    ("bring-in tomato 1 --in B33", 1, ("'B33'", "did you mean")),
    ("bring-in tomato 5 --in B3-B4", 2, ("5 plants", "2 places")),
    ("set-out tom2 3 --in B3,B4", 1, ("no room",)),
    ("set-out tom2 9 --in B3", 1, ("tom2", "9")),
    ("set-out tom2 --in B4-B3", 2, ("'B4-B3'", "backwards")),
    ("set-out tom2 --in B3,B3", 2, ("'B3,B3'", "twice")),
    ("move tom2 --in B3", 1, ("B3", "no room")),
    ("move tom1 --in B1", 1, ("tom1", "B1", "already")),
    ("move tom1 --in B3,B4", 2, ("'B3,B4'", "one is wanted")),
    ("place add B1 --kind bucket", 1, ("'B1'", "already")),
    ("place add C1-C4 --kind buckit", 2, ("'buckit'", "'bucket'")),
    ("place add C1 --kind pot --holds 0", 1, ("at least 1 plant", "0")),
    ("place add C1 --kind pot --medium perlight", 1, ("'perlight'", "perlite")),
    ("place retire B1", 1, ("B1", "tom1")),
    # Counts.
    ("strike tomato -4 --from tom1 --in T1", 1, ("-4", "at least 1")),
    ("strike tomato four --from tom1 --in T1", 2, ("'four'", "whole number")),
    ("sow basil 0 --in T1", 1, ("at least 1", "0")),
    ("lost tom2 9", 1, ("tom2", "9")),
    ("lost tom2 -1", 1, ("tom2", "-1")),
    ("seen tom2 rooted 12", 1, ("tom2", "12")),
    # Tags.
    ("pick tom3", 1, ("tom3", "pulled")),
    ("seen tom3 flowering", 1, ("tom3", "pulled")),
    ("strike tomato 2 --from tom3 --in T1", 1, ("tom3", "gone")),
    ("pull tom99", 1, ("'tom99'", "did you mean")),
    ("planting show TOM99", 1, ("'TOM99'",)),
    ("journal --tag bas1", 1, ("'bas1'",)),
    # Amounts and units.
    ("feed main 60q", 2, ("'60q'", "unit 'q'")),
    ("feed main -5g", 1, ("-5 g",)),
    ("feed mian 60g", 1, ("'mian'", "'main'")),
    ("pick tom1 3gal", 2, ("'3gal'",)),
    ("pick tom1 1,250", 2, ("'1,250'", "1.250")),
    ("test main ph=68", 1, ("ph 68", "6.8")),
    ("test main phh=6.8", 2, ("'phh'", "'ph'")),
    ("test main ph", 2, ("'ph'", "KEY=VALUE")),
    ("test main ammonia=-1", 1, ("ammonia -1",)),
    ("temp 20 12", 2, ("20", "12", "low comes first")),
    ("temp 60 99", 1, ("99", "F")),
    ("drain main --volume 5kg", 2, ("'5kg'", "volume")),
    ("duty add 'wipe lamps' --every 0d", 2, ("'0'", "at least 1 day")),
    ("duty add 'wipe lamps' --every often", 2, ("'often'", "14d")),
    ("duty add 'wipe lamps' --rule FREQ=SOMETIMES", 2, ("FREQ=SOMETIMES",)),
    ("duty add 'wipe lamps'", 2, ("--every", "--rule")),
    ("duty set pollinatte --every 2d", 1, ("'pollinatte'", "'pollinate'")),
    # Handles and lines.
    ("done fi-mian", 1, ("'fi-mian'", "fi-main")),
    ("done po-tom --only B9", 1, ("'B9'", "B1")),
    ("done po-tom --only B1 --except B1", 2, ("B1", "one of the two")),
    ("done st-tom", 1, ("'st-tom'",)),
    ("skip fi-main --why ''", 2, ("--why",)),
    ("done", 2, ("HANDLES",)),
    # House, catalogue, undo.
    ("house new Other --at 95,0 --zone Europe/Dublin", 2, ("'95,0'", "no place on earth")),
    ("house new Other --at 53.3,-6.2 --zone Europe/Dubln", 2, ("'Europe/Dubln'", "Europe/Dublin")),
    ("house new 'Quay House' --at 53.3,-6.2 --zone Europe/Dublin", 1, ("'Quay House'", "already")),
    ("house new Other --at 53.3,-6.2", 2, ("'Other'", "--zone")),
    ("house set --day 12 --night 18", 2, ("18", "12", "swapped")),
    ("house set --cover 7", 2, ("'7'", "between 0 and 1")),
    ("rounds --house Quai", 1, ("'Quai'",)),
    ("rounds --ahead 900", 2, ("'900'", "60")),
    ("loop add pond --volume 0L --fish carp", 2, ("0 L",)),
    ("loop add pond --volume 500L --fish carrp", 1, ("'carrp'", "'carp'")),
    ("loop add Main --volume 500L --fish carp", 1, ("'main'", "already")),
    ("crops set tomato pick_intervall 2", 1, ("'pick_intervall'", "'pick_interval'")),
    ("crops set tomato pick_interval two", 2, ("'two'",)),
    ("undo 999", 1, ("999",)),
    ("undo 5", 1, ("entry 5", "builds on it")),
    ("undo last", 2, ("'last'", "whole number")),
    ("calendar write house.ics --days 0", 2, ("'0'", "--days")),
]


@pytest.fixture
def terminal(tmp_path: Path) -> Terminal:
    """A house in which there is much to refuse."""
    return lived_in_house(tmp_path / "house.db")


def test_there_are_at_least_fifty_bad_inputs() -> None:
    """Issue A, acceptance: fifty bad inputs, none of them twice."""
    assert len({typed for typed, _, _ in CASES}) == len(CASES) >= 50


@pytest.mark.parametrize(("typed", "code", "words"), CASES, ids=[typed for typed, _, _ in CASES])
def test_what_cannot_be_is_refused_and_changes_nothing(
    terminal: Terminal, typed: str, code: int, words: tuple[str, ...]
) -> None:
    """Issue A, acceptance: one clear line, right exit code, record unchanged."""
    before = content_of(terminal.record)
    refused(terminal.type(typed), code, words)
    assert content_of(terminal.record) == before
