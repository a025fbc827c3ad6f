"""A calendar server for the tests of this folder, and new lists on it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import count

import pytest

from cropplan.sync.caldav import CalDavList
from cropplan.sync.discovery import find
from cropplan.sync.wire import Wire
from tests.clients.sync.server import PASSWORD, USER, Server, radicale

_numbers = count(1)


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """Radicale, started once."""
    with radicale(tmp_path_factory.mktemp("radicale")) as running:
        yield running


@pytest.fixture(scope="session")
def wire(server: Server) -> Iterator[Wire]:
    """A connection to it."""
    connection = Wire(server.url, USER, PASSWORD)
    yield connection
    connection.close()


@pytest.fixture
def new_list(server: Server, wire: Wire) -> Callable[[], CalDavList]:
    """Makes an empty list of tasks on the server."""

    def make() -> CalDavList:
        found = find(wire, server.url, f"Work {next(_numbers)}", make=True)
        return CalDavList(wire, found.address, found.name)

    return make
