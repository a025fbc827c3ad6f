"""The terminal that the stories type at serves these tests too."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "story"))
