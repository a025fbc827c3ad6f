"""Values as words and as JSON: stable, plain, and readable on any terminal."""

from __future__ import annotations

import io
import json
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from cropplan.cli.show import fit_for, plain, span_of_time, table, write_lines, write_text
from cropplan.holding.loop import Loop, LoopState
from cropplan.holding.planting import Stage
from cropplan.holding.task import SubjectKind, TaskKey, subject
from cropplan.problems import Refusal


def test_a_dataclass_is_shown_by_field_with_iso_days_and_words() -> None:
    """JSON out: keys are the noun's fields, days ISO, kinds by their word, in SI."""
    loop = Loop(
        name="main",
        house="Quay House",
        volume_l=1200.0,
        species="carp",
        state=LoopState.CYCLING,
        last_fed=date(2026, 3, 2),
    )
    shown = plain(loop)
    assert shown["state"] == "cycling"
    assert shown["last_fed"] == "2026-03-02"
    assert shown["fish"] is None
    assert json.loads(json.dumps(shown)) == shown


def test_kinds_keys_and_moments_have_one_plain_form() -> None:
    """Subjects and keys are text, mappings have text keys, sets are in order."""
    about = subject(SubjectKind.PLANTING, "tom7")
    assert plain(about) == "planting:tom7"
    assert plain(TaskKey("pick", about, 3)) == "pick/planting:tom7/3"
    assert plain({Stage.ROOTED: date(2026, 3, 2)}) == {"rooted": "2026-03-02"}
    assert plain(frozenset({"b", "a"})) == ["a", "b"]
    assert plain(datetime(2026, 3, 2, tzinfo=UTC)) == "2026-03-02T00:00:00+00:00"
    with pytest.raises(TypeError):
        plain(object())


def test_a_terminal_without_utf8_gets_plain_signs_and_never_fails() -> None:
    """Degrees, dashes and squares have plain forms; anything else becomes a mark, not a fault."""
    assert fit_for("3–9 Mar, 20 °C, mol/m²", "ascii") == "3-9 Mar, 20 deg C, mol/m2"
    assert fit_for("3–9 Mar", "utf-8") == "3–9 Mar"
    assert fit_for("日", "ascii") == "?"
    raw = io.BytesIO()
    out = io.TextIOWrapper(raw, encoding="ascii")
    write_lines(["12 ± 3 °C"], out)
    out.flush()
    assert raw.getvalue() == b"12 +/- 3 deg C\n"


@pytest.mark.parametrize(
    ("minutes", "spoken"),
    [(0.2, "under 1 min"), (1, "1 min"), (59.6, "1 h"), (85, "1 h 25 min"), (120, "2 h")],
)
def test_minutes_are_spoken_as_hours_and_minutes(minutes: float, spoken: str) -> None:
    """No decimals: nobody times pruning to the second."""
    assert span_of_time(minutes) == spoken


def test_a_table_keeps_within_the_terminal_and_loses_no_word(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The widest column is wrapped, never cut."""
    monkeypatch.setenv("COLUMNS", "60")
    words = "a note that is much longer than all that stands beside it in the row"
    lines = table([("tom7", words, "12")], ("tag", "note", "plants"))
    assert max(map(len, lines)) <= 60
    assert all(word in " ".join(lines) for word in words.split())


def test_figures_in_a_table_stay_as_they_are_written() -> None:
    """`01234` is a code and `1.10` an amount; neither is turned into a number."""
    assert "01234" in table([("01234", "1.10")], ("code", "amount"))[1]
    assert "1.10" in table([("01234", "1.10")], ("code", "amount"))[1]


def test_a_page_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    """A file that cannot be written is a refusal, and leaves nothing behind."""
    write_text(tmp_path / "page.txt", ["one", "two"])
    assert (tmp_path / "page.txt").read_text(encoding="utf-8") == "one\ntwo\n"
    with pytest.raises(Refusal, match="no-such-folder"):
        write_text(tmp_path / "no-such-folder" / "page.txt", ["one"])
    assert [file.name for file in tmp_path.iterdir()] == ["page.txt"]
