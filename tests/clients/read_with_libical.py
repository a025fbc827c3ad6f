"""Reads a calendar file with libical and prints what it holds as JSON.

Run by the system's own Python, for which Debian packages libical's bindings (python3-gi and
gir1.2-ical-3.0); it imports nothing of the project.
"""

import json
import sys
from pathlib import Path

import gi  # type: ignore[import-not-found]

gi.require_version("ICalGLib", "3.0")
from gi.repository import ICalGLib  # type: ignore[import-not-found]  # noqa: E402

calendar = ICalGLib.Component.new_from_string(Path(sys.argv[1]).read_bytes().decode())
kind = ICalGLib.ComponentKind.VEVENT_COMPONENT
events = []
event = calendar.get_first_component(kind)
while event is not None:
    events.append(
        {
            "uid": event.get_uid(),
            "start": event.get_dtstart().as_ical_string(),
            "end": event.get_dtend().as_ical_string(),
            "summary": event.get_summary(),
        }
    )
    event = calendar.get_next_component(kind)
keeps_restrictions = bool(calendar.check_restrictions())
told = {"errors": calendar.count_errors(), "sound": keeps_restrictions, "events": events}
sys.stdout.write(json.dumps(told))
