"""Calendars: what they have been told, what has changed since, and the bytes they read."""
