"""The command line: parse what was typed, ask the desk, print what it says."""
