"""Reading stalls.csv; needs nothing but Python."""

import csv
from pathlib import Path

HERE = Path(__file__).resolve().parent
TEXT = {"id", "source", "airplane_kind", "airplane", "pilot", "pair", "flap", "power", "style", "ended", "hand_limit"}


def read_rows(path=HERE / "stalls.csv"):
    """Read stalls.csv.

    Parameters: path.
    Returns: list of dict; numbers as float, empty cells as None, the rest as text.
    """
    with open(path, newline="", encoding="utf-8") as file:
        return [{key: _cell(key, text) for key, text in row.items()} for row in csv.DictReader(file)]


def _cell(key, text):
    if text == "":
        return None
    return text if key in TEXT else float(text)
