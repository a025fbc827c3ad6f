"""Addresses as QR codes, for a terminal and as a picture to print."""

from __future__ import annotations

import io
from pathlib import Path

import segno

#: Level M: 15 % may be smudged (ISO/IEC 18004). A finer pattern would be harder for old cameras.
_LEVEL = "m"
#: The quiet zone that ISO/IEC 18004 asks for. [modules]
_BORDER = 4


def terminal(url: str) -> str:
    """The code in half blocks, where a full block is light: right on a dark terminal."""
    out = io.StringIO()
    _code(url).terminal(out, border=_BORDER, compact=True)
    return out.getvalue()


def svg(url: str) -> bytes:
    """The code as a picture, with its quiet zone on white."""
    out = io.BytesIO()
    _code(url).save(out, kind="svg", border=_BORDER, scale=8, light="white", dark="black")
    return out.getvalue()


def inline(url: str) -> str:
    """The code as an SVG element to stand in an HTML page."""
    return _code(url).svg_inline(border=_BORDER, light="white", dark="black", omitsize=True)


def write_svg(url: str, file: Path) -> None:
    """Write the picture to a file that only its owner can read, for it opens what the key opens."""
    file.touch(mode=0o600)
    file.chmod(0o600)
    file.write_bytes(svg(url))


def _code(url: str) -> segno.QRCode:
    return segno.make_qr(url, error=_LEVEL, boost_error=False)
