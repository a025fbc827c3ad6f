"""Step 1: the journal that only grows, what it adds up to, and what calendars were told."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlite_utils import Database

_SQL = (
    """
    CREATE TABLE migration (
        version INTEGER PRIMARY KEY,
        name TEXT NOT NULL,
        at TEXT NOT NULL
    ) STRICT
    """,
    "CREATE TABLE record_info (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT",
    """
    CREATE TABLE journal (
        id INTEGER PRIMARY KEY,
        happened TEXT NOT NULL,
        written TEXT NOT NULL,
        kind TEXT NOT NULL,
        body TEXT NOT NULL,
        done_by TEXT,
        note TEXT
    ) STRICT
    """,
    "CREATE INDEX journal_happened ON journal (happened)",
    """
    CREATE TRIGGER journal_row_stays BEFORE DELETE ON journal
    BEGIN SELECT RAISE(ABORT, 'the journal is never shortened; an entry is undone by another'); END
    """,
    """
    CREATE TRIGGER journal_row_never_changes BEFORE UPDATE ON journal
    BEGIN SELECT RAISE(ABORT, 'the journal is never edited; an entry is undone by another'); END
    """,
    # Also what stops INSERT OR REPLACE, whose deletions may fire no trigger.
    """
    CREATE TRIGGER journal_row_follows BEFORE INSERT ON journal
    WHEN NEW.id IS NOT (SELECT coalesce(max(id), 0) + 1 FROM journal)
    BEGIN SELECT RAISE(ABORT, 'a journal entry takes the number after the last'); END
    """,
    """
    CREATE TABLE journal_tag (
        tag TEXT NOT NULL,
        entry INTEGER NOT NULL REFERENCES journal (id) DEFERRABLE INITIALLY DEFERRED,
        PRIMARY KEY (tag, entry)
    ) STRICT, WITHOUT ROWID
    """,
    """
    CREATE TABLE voided (
        entry INTEGER PRIMARY KEY REFERENCES journal (id) DEFERRABLE INITIALLY DEFERRED,
        by_entry INTEGER NOT NULL REFERENCES journal (id) DEFERRABLE INITIALLY DEFERRED
    ) STRICT
    """,
    """
    CREATE TABLE house (
        name TEXT PRIMARY KEY,
        latitude REAL NOT NULL,
        longitude REAL NOT NULL,
        zone TEXT NOT NULL,
        units TEXT NOT NULL,
        day_c REAL NOT NULL,
        night_c REAL NOT NULL,
        cover REAL NOT NULL,
        lamp_mol REAL NOT NULL,
        outside_low_c TEXT NOT NULL,
        outside_high_c TEXT NOT NULL,
        clearness TEXT NOT NULL,
        number INTEGER NOT NULL,
        since TEXT
    ) STRICT
    """,
    """
    CREATE TABLE loop (
        name TEXT PRIMARY KEY,
        house TEXT NOT NULL REFERENCES house (name) DEFERRABLE INITIALLY DEFERRED,
        volume_l REAL NOT NULL,
        species TEXT NOT NULL,
        state TEXT NOT NULL,
        fish INTEGER,
        weight_g REAL,
        feed_g REAL,
        last_fed TEXT,
        last_fed_by TEXT,
        fed_since_drain_g REAL NOT NULL,
        since TEXT
    ) STRICT
    """,
    """
    CREATE TABLE place (
        code TEXT PRIMARY KEY,
        house TEXT NOT NULL REFERENCES house (name) DEFERRABLE INITIALLY DEFERRED,
        kind TEXT NOT NULL,
        holds INTEGER NOT NULL,
        medium TEXT,
        filled TEXT,
        loop TEXT REFERENCES loop (name) DEFERRABLE INITIALLY DEFERRED,
        walk INTEGER NOT NULL,
        disease_on TEXT,
        retired_on TEXT
    ) STRICT
    """,
    """
    CREATE TABLE planting (
        tag TEXT PRIMARY KEY,
        crop TEXT NOT NULL,
        origin TEXT NOT NULL,
        way TEXT NOT NULL,
        place TEXT NOT NULL REFERENCES place (code) DEFERRABLE INITIALLY DEFERRED,
        count INTEGER NOT NULL,
        begun INTEGER NOT NULL,
        stage TEXT NOT NULL,
        clone TEXT NOT NULL REFERENCES planting (tag) DEFERRABLE INITIALLY DEFERRED,
        cultivar TEXT,
        parent TEXT REFERENCES planting (tag) DEFERRABLE INITIALLY DEFERRED,
        split_of TEXT REFERENCES planting (tag) DEFERRABLE INITIALLY DEFERRED,
        generation INTEGER NOT NULL,
        started TEXT,
        started_give INTEGER NOT NULL,
        since TEXT,
        seen TEXT NOT NULL,
        rooted INTEGER NOT NULL,
        lost INTEGER NOT NULL,
        left INTEGER NOT NULL,
        split_off INTEGER NOT NULL,
        pulled INTEGER NOT NULL,
        cuts INTEGER NOT NULL,
        picked REAL NOT NULL,
        last_picked TEXT,
        barred_why TEXT,
        tagged_mother INTEGER NOT NULL,
        by_insects INTEGER NOT NULL,
        ended_on TEXT,
        ended_why TEXT,
        CHECK (count + lost + left + split_off + pulled = begun)
    ) STRICT
    """,
    """
    CREATE INDEX planting_living ON planting (tag) WHERE stage NOT IN ('pulled', 'lost')
    """,
    """
    CREATE TABLE own_duty (
        id TEXT PRIMARY KEY,
        code TEXT NOT NULL,
        text TEXT NOT NULL,
        subject TEXT NOT NULL,
        begins TEXT NOT NULL,
        every_days INTEGER,
        rule TEXT,
        keeps TEXT NOT NULL,
        part TEXT NOT NULL,
        minutes REAL NOT NULL
    ) STRICT
    """,
    """
    CREATE TABLE duty_setting (
        duty TEXT PRIMARY KEY,
        every_days INTEGER,
        stopped INTEGER NOT NULL
    ) STRICT
    """,
    """
    CREATE TABLE turn (
        duty TEXT NOT NULL,
        subject TEXT NOT NULL,
        number INTEGER NOT NULL,
        last_done TEXT,
        last_by TEXT,
        answered TEXT,
        skip_why TEXT,
        put_off_to TEXT,
        skips INTEGER NOT NULL,
        PRIMARY KEY (duty, subject)
    ) STRICT
    """,
    "CREATE INDEX turn_subject ON turn (subject)",
    """
    CREATE TABLE absence (
        position INTEGER PRIMARY KEY,
        first TEXT NOT NULL,
        last TEXT NOT NULL,
        house TEXT REFERENCES house (name) DEFERRABLE INITIALLY DEFERRED
    ) STRICT
    """,
    """
    CREATE TABLE setback (
        position INTEGER PRIMARY KEY,
        house TEXT NOT NULL REFERENCES house (name) DEFERRABLE INITIALLY DEFERRED,
        day TEXT NOT NULL,
        days INTEGER NOT NULL,
        why TEXT NOT NULL,
        crop TEXT,
        low_c REAL
    ) STRICT
    """,
    """
    CREATE TABLE water_test (
        loop TEXT NOT NULL REFERENCES loop (name) DEFERRABLE INITIALLY DEFERRED,
        key TEXT NOT NULL,
        value REAL NOT NULL,
        day TEXT NOT NULL,
        PRIMARY KEY (loop, key)
    ) STRICT
    """,
    """
    CREATE TABLE temperature (
        house TEXT NOT NULL REFERENCES house (name) DEFERRABLE INITIALLY DEFERRED,
        day TEXT NOT NULL,
        low_c REAL NOT NULL,
        high_c REAL NOT NULL,
        PRIMARY KEY (house, day)
    ) STRICT
    """,
    """
    CREATE TABLE published (
        key TEXT PRIMARY KEY,
        uid TEXT NOT NULL UNIQUE,
        sequence INTEGER NOT NULL,
        created TEXT NOT NULL,
        stamp TEXT NOT NULL,
        digest TEXT NOT NULL,
        day TEXT NOT NULL,
        tentative INTEGER NOT NULL,
        gone INTEGER NOT NULL DEFAULT 0
    ) STRICT
    """,
    # RFC 5545 section 3.8.7.4: the sequence only rises. A calendar that has been told of a UID
    # would ignore, or show twice, what breaks either rule.
    """
    CREATE TRIGGER published_identity_stays BEFORE UPDATE ON published
    WHEN NEW.uid <> OLD.uid OR NEW.sequence < OLD.sequence
    BEGIN SELECT RAISE(ABORT, 'a published notice keeps its UID and never lowers SEQUENCE'); END
    """,
    """
    CREATE TRIGGER published_row_stays BEFORE DELETE ON published
    BEGIN SELECT RAISE(ABORT, 'a published notice is marked gone, never forgotten'); END
    """,
)


def step(db: Database) -> None:
    """Lay out the first tables in an empty database."""
    for statement in _SQL:
        db.execute(statement)
