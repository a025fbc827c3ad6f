"""A page of labels to print and cut, three across and eight down an A4 sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from cropplan.desk.labels import Label

_PER_SHEET = 24
_STYLE = """
@page { size: A4; margin: 8mm 7mm; }
* { box-sizing: border-box; }
body { margin: 0; color: #000; background: #fff; font: 9pt/1.25 system-ui, sans-serif; }
.sheet { display: grid; grid-template-columns: repeat(3, 65mm); grid-auto-rows: 35mm; }
.sheet + .sheet { break-before: page; }
.label { display: flex; gap: 2mm; padding: 2mm; overflow: hidden; border: 0.2mm dashed #999; }
.label svg { flex: none; width: 31mm; height: 31mm; }
.label b { display: block; font-size: 18pt; line-height: 1.1; }
.label p { margin: 1mm 0 0; overflow-wrap: anywhere; }
"""


def sheet(labels: Sequence[Label]) -> Iterator[str]:
    """The lines of an HTML file that holds all it needs, to open and print."""
    yield "<!doctype html>"
    yield '<html lang="en"><head><meta charset="utf-8"><title>Labels</title>'
    yield f"<style>{_STYLE}</style></head><body>"
    for start in range(0, len(labels), _PER_SHEET):
        yield '<div class="sheet">'
        yield from map(_label, labels[start : start + _PER_SHEET])
        yield "</div>"
    yield "</body></html>"


def _label(label: Label) -> str:
    from cropplan.serve.qr import inline

    lines = "".join(f"<p>{escape(line)}</p>" for line in label.lines if line)
    return (
        f'<div class="label">{inline(label.url)}<div><b>{escape(label.code)}</b>{lines}</div></div>'
    )
