"""The one thread in which the record is asked and written, whatever the number of connections."""

from __future__ import annotations

import asyncio
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from cropplan.desk.desk import Desk

Answer = TypeVar("Answer")
#: The record is let go after so long without a question, or it could never be restored while the
#: server runs. [s]
_IDLE = 2.0


class DeskRoom:
    """Opens the desk in a thread of its own; what is asked is answered there, one by one.

    Two phones that tick the same line come one after the other, and the second finds it ticked.
    """

    def __init__(self, open_: Callable[[], Desk]) -> None:
        self._open = open_
        self._desk: Desk | None = None
        self._file: tuple[int, int] | None = None
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="desk")
        self._rest: asyncio.TimerHandle | None = None

    async def ask(self, question: Callable[[Desk], Answer]) -> Answer:
        """What a question put to the desk comes to."""
        loop = asyncio.get_running_loop()
        if self._rest is not None:
            self._rest.cancel()
        self._rest = loop.call_later(_IDLE, self._thread.submit, self._let_go)
        return await loop.run_in_executor(self._thread, self._answer, question)

    def ask_now(self, question: Callable[[Desk], Answer]) -> Answer:
        """The same, where nothing else has to go on meanwhile."""
        return self._thread.submit(self._answer, question).result()

    def close(self) -> None:
        """Let go of the record when all that was asked is answered."""
        if self._rest is not None:
            self._rest.cancel()
        self._thread.submit(self._let_go).result()
        self._thread.shutdown()

    def _answer(self, question: Callable[[Desk], Answer]) -> Answer:
        return question(self._current())

    def _current(self) -> Desk:
        """The desk over the file that bears the record's name now; a restore puts another there."""
        if self._desk is not None and _identity(self._desk) != self._file:
            self._let_go()
        if self._desk is None:
            self._desk = self._open()
            self._file = _identity(self._desk)
        return self._desk

    def _let_go(self) -> None:
        if self._desk is not None:
            self._desk.record.close()
            self._desk = None


def _identity(desk: Desk) -> tuple[int, int] | None:
    try:
        told = os.stat(desk.record.path)  # noqa: PTH116 - a Path would cost as much again
    except OSError:
        return None
    return told.st_dev, told.st_ino
