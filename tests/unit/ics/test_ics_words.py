"""Words made fit for a calendar."""

from __future__ import annotations

from datetime import date

import pytest

from cropplan.holding.notice import Notice
from cropplan.ics.text import escaped, one_line, plain, plain_notice


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("two\r\nlines", "two\nlines"),
        ("two\rlines", "two\nlines"),
        ("two\u2028lines\u2029three\x85four", "two\nlines\nthree\nfour"),
        ("two\x0bpages\x0ctwo", "two\npages\ntwo"),
        ("a bell\x07, a NUL\x00, a DEL\x7f", "a bell, a NUL, a DEL"),
        ("half a letter \ud83c.", "half a letter ."),
        ("a tab\tstays", "a tab\tstays"),
        ("no end \n  indent stays \n\n", "no end\n  indent stays"),
        ("\n\nno start", "no start"),
        ("🍅 é ﷽ 👩‍🌾", "🍅 é ﷽ 👩‍🌾"),
    ],
)
def test_what_a_calendar_cannot_carry_is_left_out(typed: str, shown: str) -> None:
    """RFC 5545 §3.1 bars controls but HTAB, §3.3.11 knows one line break."""
    assert plain(typed) == shown


def test_a_summary_is_one_line() -> None:
    """A break in a title would show as a broken line or a bare `n`."""
    assert one_line("  Strike\n12\tcuttings  ") == "Strike 12 cuttings"


def test_text_is_escaped_as_the_standard_says() -> None:
    r"""RFC 5545 §3.3.11: `\`, `;`, `,` and the line break, and never `:`."""
    assert escaped("a;b,c\\d\ne: f") == r"a\;b\,c\\d\ne: f"


def test_kinds_are_shown_once_each_and_in_order() -> None:
    """An empty kind would be an empty item of the list (RFC 5545 §3.8.1.2)."""
    notice = Notice(
        key="k",
        day=date(2027, 3, 10),
        summary="s",
        text="t",
        kinds=("water", " ", "loop", "water\x07"),
        tentative=False,
    )
    assert plain_notice(notice).kinds == ("loop", "water")
    assert plain_notice(plain_notice(notice)) == plain_notice(notice)
