"""`python -m cropplan` and the installed command."""

from __future__ import annotations

import sys

from cropplan.cli.root import run


def main() -> None:
    """Run the command that was typed and leave with its exit code."""
    sys.exit(run())


if __name__ == "__main__":
    main()
