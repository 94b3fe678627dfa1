"""The simulated side by plain names: its modules import each other that way, and so do these tests."""

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
for folder in (HERE, HERE.parents[1] / "data" / "simulated"):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))
