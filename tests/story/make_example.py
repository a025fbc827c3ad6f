"""Makes the journal of the example house, by living its year day by day.

Run it from the checkout: python -m tests.story.make_example [days]
It writes examples/heron-street/journal.jsonl, the same bytes each time. With the word `weather`
instead of days it writes weather.csv from the vega_datasets package.
"""

from __future__ import annotations

import csv
import json
import sys
import tomllib
from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from uuid import UUID

from cropplan.desk.example import EXAMPLE_DAY
from cropplan.record.exchange import JOURNAL_FILE, export
from cropplan.record.store import Record, open_record
from tests.story.grower import Away, Grower, Stocking
from tests.story.hands import Habits
from tests.story.moving_in import Remembering, crop_of, house_of, move_in
from tests.story.truth import Sky, Truth, seattle, weather_in
from tests.story.walk import Want

FOLDER = Path(__file__).parents[2] / "examples" / "heron-street"
FIRST_DAY = date(2025, 11, 1)
YEARS_MOVED = 11
SEED = 8
#: Of the record, so that its calendar has the same names for the same work each time it is made.
NAMESPACE = UUID("6f1c2f7e-6d7d-5a0e-9a55-0b6c1f0f2a11")


def main(words: list[str]) -> None:
    """Write what was asked for."""
    if words == ["weather"]:
        write_weather(FOLDER / "weather.csv")
        return
    days = int(words[0]) if words else (EXAMPLE_DAY - FIRST_DAY).days
    (FOLDER / JOURNAL_FILE).write_bytes(journal(days))


def write_weather(file: Path) -> None:
    """The days that the example lives through, from the package's file, moved by 11 years."""
    skies = seattle(YEARS_MOVED)
    with file.open("w", encoding="utf-8", newline="") as out:
        rows = csv.writer(out, lineterminator="\n")
        rows.writerow(["date", "outside_low_c", "outside_high_c", "sunny"])
        day = FIRST_DAY
        while day < EXAMPLE_DAY:
            sky = skies[day]
            rows.writerow([day, sky.low_c, sky.high_c, "yes" if sky.sunny else "no"])
            day += timedelta(days=1)


def read_weather(file: Path) -> dict[date, Sky]:
    """The days of weather.csv."""
    with file.open(encoding="utf-8", newline="") as rows:
        return {
            date.fromisoformat(row["date"]): Sky(
                low_c=float(row["outside_low_c"]),
                high_c=float(row["outside_high_c"]),
                sunny=row["sunny"] == "yes",
            )
            for row in csv.DictReader(rows)
        }


def journal(days: int, habits: Habits | None = None) -> bytes:
    """The journal of so many days of the example, as `record.exchange.export` writes it."""
    with TemporaryDirectory() as room:
        path = Path(room, "house.cropplan")
        live(path, days, habits)
        export(path, Path(room, "out"))
        head, _, rest = Path(room, "out", JOURNAL_FILE).read_bytes().partition(b"\n")
    # A record says when it was made; the example was made on its own first day.
    told = json.loads(head)
    told["record"]["created"] = f"{FIRST_DAY}T14:00:00Z"
    return json.dumps(told, separators=(",", ":")).encode() + b"\n" + rest


def read_facts() -> dict[str, Any]:
    """What house.toml says of the house and of what befalls it."""
    return tomllib.loads((FOLDER / "house.toml").read_text(encoding="utf-8"))


def heater_out() -> frozenset[date]:
    """The days whose night the heater was out."""
    return frozenset(read_facts()["story"]["heater_out"])


def live(path: Path, days: int, habits: Habits | None = None) -> Grower:
    """Live the example's days in a new record; returns the grower, with tales to tell."""
    with Remembering(), open_record(path, create=True, namespace=NAMESPACE) as record:
        # Losing power while an example is made loses nothing that matters.
        record.connection.execute("PRAGMA synchronous = OFF")
        grower = example_grower(record, read_weather(FOLDER / "weather.csv"), habits)
        grower.clock.dawn(FIRST_DAY)
        move_in(grower.desk, grower.clock, read_facts())
        for n in range(days):
            grower.day(FIRST_DAY + timedelta(days=n))
    return grower


def example_grower(
    record: Record, skies: Mapping[date, Sky], habits: Habits | None = None
) -> Grower:
    """The example's grower over a record of the house, under these skies."""
    facts = read_facts()
    house = house_of(facts)
    weather = weather_in(house, skies, heater_out())
    ill = {told["place"]: told["on"] for told in facts["story"]["ill"]}
    loop = facts["loop"]
    stockings = [
        Stocking(on=FIRST_DAY, loop=loop["name"], fish=loop["fish"], weight_g=loop["weight_g"]),
        *(Stocking(loop=loop["name"], **told) for told in facts["story"]["fish"]),
    ]
    fish = [(told.on, told.weight_g) for told in stockings]
    return Grower(
        record,
        house,
        Truth(seed=SEED, weather=weather, crop=crop_of, ill=ill, fish=fish),
        seed=SEED,
        habits=habits,
        away=[Away(**away) for away in facts["story"].get("away", ())],
        wants=[Want(**want) for want in facts["wants"]],
        people=facts["story"]["people"],
        stockings=stockings,
    )


if __name__ == "__main__":
    main(sys.argv[1:])
