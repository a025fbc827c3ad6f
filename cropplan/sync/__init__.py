"""Two-way tasks with a calendar server: what to do is decided as values; one file speaks HTTP."""
