"""Every benchmark of this folder, one after the other; exit status 1 where a target is not met.

python tests/benchmarks/bench_all.py
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

if __name__ == "__main__":
    others = sorted(p for p in Path(__file__).parent.glob("bench_*.py") if p.name != "bench_all.py")
    status = [subprocess.run([sys.executable, str(path)], check=False).returncode for path in others]
    sys.exit(1 if any(status) else 0)
