"""The grower's record: one SQLite file that holds the journal and what it adds up to."""
