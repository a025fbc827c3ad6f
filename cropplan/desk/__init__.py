"""Whole questions and whole acts: where the record, the catalogue and the schedule meet."""
