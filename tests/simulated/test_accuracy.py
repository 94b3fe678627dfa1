"""The accuracy tables of tests/README.md are those that were kept, part by part; nothing is flown here."""

import csv

import accuracy
import pytest


@pytest.mark.parametrize("part", accuracy.PARTS, ids=lambda p: p.__name__)
def test_every_part_is_kept_whole(part):
    with (accuracy.FOUND / f"{part.__name__}.csv").open(newline="", encoding="utf-8") as file:
        head, *rows = csv.reader(file)
    assert tuple(head) == accuracy.HEAD and rows
    assert all(len(row) == len(head) and int(row[1]) > 0 for row in rows)


def test_the_page_holds_what_was_kept():
    page = accuracy.README.read_text(encoding="utf-8")
    assert page.count(accuracy.BEGIN) == page.count(accuracy.END) == 1
    assert f"{accuracy.BEGIN}\n\n{accuracy.table()}\n\n{accuracy.END}" in page
