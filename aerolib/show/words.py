"""The words of the tables and pictures, one line each: the same in report and workbook."""

from aerolib.sources import REGISTER

WORDS = {
    "trimmed airplane": "wing, tail and fuselage together, balanced as it was flown; not the wing alone",
    "apparent": "thrust was holding part of the weight and is not taken out, so it is not the wing's own",
    "limit": "what ended the stalls: the wing (a break), the elevator (stick on its stop), or nothing reached",
    "lowest seen": "the lowest indicated speed, calibrated; minimum, break or steady is the kind written down",
    "at least": "a lower limit: no break was seen, or it came below the indicator's scale, so CLmax is that much or "
    "more (one-sided 95 % limit)",
    "share of the variance": (
        "how much of the squared uncertainty a source makes up; curing a source of 68 % takes away about 43 % of the "
        "width, since widths add in squares"
    ),
    **{known.name: known.meaning for known in REGISTER.values() if known.meaning},
    "by Monte Carlo": "the same interval found by trying 100,000 random sets of errors, as a check",
}
