"""HTTP/1.1 with an end to patience: a request that does not come, an answer that is not taken."""

from __future__ import annotations

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol, RequestResponseCycle

#: How long the head of a request may take, from the first moment of the connection. [s]
HEAD_SECONDS = 10.0
#: How long a connection may take to swallow its last answer. [s]
_LAST_SECONDS = 30.0


class PatientProtocol(H11Protocol):
    """The server library waits for ever for the rest of a head; this one hangs up.

    It also hangs up on a client that asks and never reads, for its answer would stay in memory.
    """

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._patience: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # as its parent
        """Begin to wait for the first request."""
        super().connection_made(transport)
        self._watch()

    def data_received(self, data: bytes) -> None:
        """Take what came, and see whether a head is still incomplete."""
        super().data_received(data)
        self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no longer."""
        self._cease()
        super().connection_lost(exc)

    def timeout_keep_alive_handler(self) -> None:
        """Close an idle connection, and break it off if its last answer is never taken."""
        super().timeout_keep_alive_handler()
        self.loop.call_later(_LAST_SECONDS, self.transport.abort)

    def _watch(self) -> None:
        # None until the first request, whatever the library declares.
        cycle: RequestResponseCycle | None = self.cycle
        waiting = cycle is None or cycle.response_complete
        if not waiting:
            self._cease()
        elif self._patience is None:
            self._patience = self.loop.call_later(HEAD_SECONDS, self.transport.abort)

    def _cease(self) -> None:
        if self._patience is not None:
            self._patience.cancel()
            self._patience = None
