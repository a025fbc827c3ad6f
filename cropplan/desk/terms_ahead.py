"""Types of what is to come, apart from those of the morning list, which waits for no more."""

from __future__ import annotations

from cropplan.schedule.harvest import ExpectedWeek
from cropplan.season.reasons import Reason, Remedy

__all__ = ["ExpectedWeek", "Reason", "Remedy"]
