"""Everything else worth comparing before and after."""

from aerolib.measured.checks.compare import compare_checks
from aerolib.measured.checks.results import CheckResult, ChecksComparison

__all__ = ["CheckResult", "ChecksComparison", "compare_checks"]
