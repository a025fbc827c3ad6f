"""Words as a calendar can carry them, and the few that are the calendar's own."""

from __future__ import annotations

import re
from dataclasses import replace

from cropplan.holding.notice import Notice

NOTHING_DUE = "Nothing falls due"
NOTHING_DUE_TEXT = "There is no work in the days this calendar covers."

# RFC 5545 §3.3.11 knows one line break. NEL and the Unicode separators break a line for some
# readers and not for others, so all of them become that one.
_BREAKS = re.compile("\r\n|[\r\n\v\f\x1c-\x1e\x85\u2028\u2029]")
# RFC 5545 §3.1 bars the controls but HTAB from a content line; C1 controls and lone surrogates
# show as nothing and upset readers or cannot be written as UTF-8 at all.
_UNWRITABLE = re.compile("[\x00-\x08\x0e-\x1b\x1f\x7f-\x9f\ud800-\udfff]")


def plain(words: str) -> str:
    """The words without what a calendar cannot carry; line breaks become single newlines."""
    lines = _UNWRITABLE.sub("", _BREAKS.sub("\n", words)).split("\n")
    return "\n".join(line.rstrip() for line in lines).strip("\n")


def one_line(words: str) -> str:
    """The words on one line, with single spaces between them."""
    return " ".join(plain(words).split())


def plain_notice(notice: Notice) -> Notice:
    """The notice as a calendar shows it: writable words, and its kinds once each in order.

    The order of CATEGORIES has no meaning (RFC 5545 §3.1.1), so another order is no change.
    """
    kinds = {one_line(kind) for kind in notice.kinds} - {""}
    return replace(
        notice,
        summary=one_line(notice.summary),
        text=plain(notice.text),
        kinds=tuple(sorted(kinds)),
    )


def escaped(words: str) -> str:
    r"""The words as a TEXT value (RFC 5545 §3.3.11): `\`, `;`, `,` and newline escaped, not `:`."""
    marks = (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n"))
    for mark, written in marks:
        words = words.replace(mark, written)
    return words
