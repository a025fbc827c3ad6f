"""Starts the real server for a test, with a clock that runs from the morning of the tests."""

from __future__ import annotations

import json
import resource
import sys
import time
from datetime import datetime, timedelta
from pathlib import Path

from cropplan.desk.desk import open_desk
from cropplan.serve import app, protocol
from cropplan.serve.run import place, serve


def main() -> None:
    """Serve the record named first with the options named second, as JSON."""
    record, told = Path(sys.argv[1]), json.loads(sys.argv[2])
    # The real patience would make a test of it long.
    protocol.HEAD_SECONDS = told.pop("head_seconds", protocol.HEAD_SECONDS)
    app.BODY_SECONDS = told.pop("body_seconds", app.BODY_SECONDS)
    morning = datetime.fromisoformat(told.pop("morning"))
    begun = time.monotonic()

    def clock() -> datetime:
        return morning + timedelta(seconds=time.monotonic() - begun)

    for name in ("cert", "private_key"):
        if name in told:
            told[name] = Path(told[name])
    _, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(hard, 4096), hard))
    serve(lambda: open_desk(record, clock=clock), place(**told), clock=clock, say=print)


if __name__ == "__main__":
    main()
