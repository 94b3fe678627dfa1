"""The tables a case may have beside its stalls: file name -> the function that reads and checks it."""

from aerolib.case.checks import FILE as CHECKS
from aerolib.case.checks import parse_checks
from aerolib.case.legs import FILE as LEGS
from aerolib.case.legs import parse_legs
from aerolib.case.tufts import FILE as TUFTS
from aerolib.case.tufts import parse_tufts

PARSERS = {
    CHECKS: parse_checks,
    LEGS: parse_legs,
    TUFTS: parse_tufts,
}
