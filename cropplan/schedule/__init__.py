"""From what is held to what falls due: timelines, windows, tasks, rounds. Pure: today is given."""
