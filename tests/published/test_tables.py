"""Every published table says where it comes from and how it was read."""

from pathlib import Path

import pytest

FOLDER = Path(__file__).resolve().parents[2] / "data" / "published"
NAMES = sorted(path.stem for path in FOLDER.glob("*.csv"))
TAGS = {"seen", "seen in an abstract", "seen second-hand", "from memory", "computed", "digitized"}


def test_tables_and_their_descriptions_come_in_pairs():
    assert len(NAMES) >= 11
    assert NAMES == sorted(path.stem for path in FOLDER.glob("*.md"))


@pytest.mark.parametrize("name", NAMES)
def test_description_says_how_it_was_read_and_how_sure_it_is(name):
    words = (FOLDER / f"{name}.md").read_text(encoding="utf-8")
    assert any(tag in words for tag in TAGS)
    assert "ncertainty" in words


@pytest.mark.parametrize("name", NAMES)
def test_rows_are_whole_and_their_tags_known(name, published):
    rows = published(name)
    assert len(rows) > 1
    for row in rows:
        assert None not in row, "a row is longer than the header"
        if row.get("read"):  # "from memory, low": how sure the memory is follows a comma
            assert row["read"].split(",")[0] in TAGS
        elif "read" in row:
            assert row["why_not"], "nothing was read, and nobody says why"
