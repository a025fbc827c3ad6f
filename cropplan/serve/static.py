"""The few files that the pages are made with: their look, their script, their picture."""

from __future__ import annotations

import json
from functools import lru_cache
from hashlib import sha256
from http import HTTPStatus
from pathlib import Path

from cropplan.serve.exchange import Reply, Request

_HERE = Path(__file__).parent / "static"
_KINDS = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
}
#: Asked for by a name with the version in it, so that it need never be asked for again.
_FOR_EVER = "private, max-age=31536000, immutable"
_WORKER = "worker.js"
_PAPER, _INK = "#fbf9f3", "#23302b"


def reply(request: Request, root: str, *, title: str) -> Reply | None:
    """The file that a path under a key names; None when it names none of these."""
    folder, _, name = request.rest.partition("/")
    if folder == "s" and name in _files():
        return _file(name, _FOR_EVER)
    # The worker's reach is the folder it comes from, and it must be asked for anew each time.
    if request.rest == _WORKER:
        return _file(_WORKER, "no-cache")
    if request.rest == "manifest.webmanifest":
        return Reply(
            status=HTTPStatus.OK,
            body=json.dumps(_manifest(root, title), ensure_ascii=False).encode(),
            headers={"Content-Type": "application/manifest+json", "Cache-Control": "no-cache"},
        )
    return None


def _file(name: str, kept: str) -> Reply:
    headers = {"Content-Type": _KINDS[Path(name).suffix], "Cache-Control": kept}
    return Reply(status=HTTPStatus.OK, body=_files()[name], headers=headers)


@lru_cache(maxsize=1)
def _files() -> dict[str, bytes]:
    return {
        file.name: file.read_bytes() for file in sorted(_HERE.iterdir()) if file.suffix in _KINDS
    }


@lru_cache(maxsize=1)
def version() -> str:
    """Changes with any of the files."""
    return sha256(b"".join(_files().values())).hexdigest()[:12]


def _manifest(root: str, title: str) -> dict[str, object]:
    return {
        "name": f"Rounds of {title}",
        "short_name": "Rounds",
        "id": root,
        "start_url": root,
        "scope": root,
        "display": "standalone",
        "background_color": _PAPER,
        "theme_color": _INK,
        "icons": [
            {"src": f"{root}s/icon-192.png", "sizes": "192x192", "type": "image/png"},
            {"src": f"{root}s/icon-512.png", "sizes": "512x512", "type": "image/png"},
        ],
    }
