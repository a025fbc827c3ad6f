"""Which list on which calendar server: chosen once, kept in the record without its password."""

from __future__ import annotations

import os
from dataclasses import dataclass
from urllib.parse import urlsplit

from cropplan.desk.desk import Desk
from cropplan.desk.sync_run import chosen_list
from cropplan.holding.synced import TaskList
from cropplan.problems import Misuse, Refusal
from cropplan.record import synced
from cropplan.sync.caldav import CalDavList
from cropplan.sync.discovery import find
from cropplan.sync.wire import Wire, is_private

PASSWORD_VARIABLE = "CROPPLAN_CALDAV_PASSWORD"  # noqa: S105 - a name, not a password
#: Under which the keyring keeps passwords.
_SERVICE = "cropplan"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What the grower said of the list; None for what was left unsaid.

    make : make the list when there is none of that name.
    """

    server: str | None = None
    user: str | None = None
    name: str | None = None
    make: bool = False

    @property
    def is_new(self) -> bool:
        """Whether anything was said, so that the list must be looked for."""
        return self.make or any(said is not None for said in (self.server, self.user, self.name))


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """The list, ready to be asked; `remarks` are what the grower should know of it."""

    storage: CalDavList
    remarks: tuple[str, ...]

    def close(self) -> None:
        """Let go of the connection."""
        self.storage.wire.close()


def open_list(desk: Desk, choice: Choice) -> Opened:
    """The list that work is kept in step with; a new choice is looked for and kept.

    Raises Refusal when none was ever chosen, it is not there, or there is no password; Misuse
    for an address that is none.
    """
    before = synced.task_list(desk.record)
    if before is None and choice.server is None:
        before = chosen_list(desk)
    server = check_address(choice.server or (before.address if before else ""))
    user = choice.user or (before.user if before else None)
    if user is None:
        raise Misuse("say who you are on that server: --user NAME")
    wire = Wire(server, user, password_for(user, server))
    remarks = []
    if not is_private(server):
        remarks.append(
            f"{wire.host} is asked without encryption: on the way, others can read the password"
        )
    try:
        chosen = before
        if chosen is None or choice.is_new:
            chosen = _chosen(wire, server, user, choice, before)
            remarks += _kept(desk, chosen, before)
    except BaseException:
        wire.close()
        raise
    return Opened(
        storage=CalDavList(wire, chosen.address, chosen.name),
        remarks=tuple(remarks),
    )


def _chosen(
    wire: Wire, server: str, user: str, choice: Choice, before: TaskList | None
) -> TaskList:
    found = find(wire, server, choice.name, make=choice.make)
    same = before is not None and before.address == found.address
    return TaskList(
        address=found.address,
        user=user,
        name=found.name,
        token=before.token if same and before is not None else None,
    )


def _kept(desk: Desk, chosen: TaskList, before: TaskList | None) -> list[str]:
    synced.choose(desk.record, chosen)
    remarks = [f"the list '{chosen.name}' at {chosen.address} is kept in step from now on"]
    if before is not None and before.address != chosen.address:
        remarks.append(
            f"tasks in the list '{before.name}' stay there, and ticks there are no longer read"
        )
    return remarks


def check_address(address: str) -> str:
    """The address of a server. Raises Misuse for one that is none, or holds a password."""
    parts = urlsplit(address)
    if parts.scheme not in {"http", "https"} or not parts.hostname:
        raise Misuse(
            f"'{address}' is no address of a calendar server; write such as https://dav.example/"
        )
    if parts.username is not None or parts.password is not None:
        # The text typed is not repeated: it would put the password on the screen.
        raise Misuse(
            f"leave name and password out of the address of {parts.hostname}; give the name with "
            f"--user, the password in {PASSWORD_VARIABLE}"
        )
    return address


def password_for(user: str, server: str) -> str:
    """The password, from the environment or the keyring; it is kept nowhere else.

    Raises Refusal when neither has it.
    """
    given = os.environ.get(PASSWORD_VARIABLE)
    if given:
        return given
    account = f"{user}@{urlsplit(server).netloc}"
    kept = _from_keyring(account)
    if kept is None:
        raise Refusal(
            f"there is no password for {account}; keep it once with 'keyring set {_SERVICE} "
            f"{account}' (pip install cropplan[keyring]), or set {PASSWORD_VARIABLE}"
        )
    return kept


def _from_keyring(account: str) -> str | None:
    try:
        import keyring
        from keyring.errors import KeyringError
    except ImportError:
        return None
    try:
        kept: str | None = keyring.get_password(_SERVICE, account)
    except KeyringError:
        return None
    return kept
