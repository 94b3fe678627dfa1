"""Published tables as the tests read them: a number knows how precisely it was printed."""

import csv
from decimal import Decimal, InvalidOperation
from pathlib import Path

import pytest

FOLDER = Path(__file__).resolve().parents[2] / "data" / "published"


class Printed(float):
    """A number as printed; `half` is half a unit of its last printed digit."""

    half: float

    def __new__(cls, text):
        number = super().__new__(cls, text)
        number.half = 0.5 * 10.0 ** Decimal(text).as_tuple().exponent
        return number


def _cell(text):
    try:
        Decimal(text)
    except InvalidOperation:
        return text or None
    return Printed(text)


@pytest.fixture(scope="session")
def published():
    """A function from the name of a published table to its rows, empty cells None."""

    def read(name):
        assert (FOLDER / f"{name}.md").is_file(), f"{name}.csv does not say where it comes from"
        with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            return [{key: _cell(text) for key, text in row.items()} for row in csv.DictReader(file)]

    return read


@pytest.fixture(scope="session")
def as_printed():
    """A function that asserts a value agrees with a printed one to half a unit of its last digit."""

    def check(value, printed, about="", extra=0.0):
        """`extra`: what the rounding of printed inputs adds, in the unit of the value."""
        allowed = printed.half * (1 + 1e-9) + extra
        assert abs(value - printed) <= allowed, f"{value!r} is not {printed!r} within {allowed:.2g} ({about})"

    return check
