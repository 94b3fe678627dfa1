"""Shared by the tests: a writable copy of the demonstration, and cases written from text."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

CLONE = Path(__file__).resolve().parents[1]


@pytest.fixture
def case_folder(tmp_path):
    """A copy of the demonstration that may be written to."""
    folder = tmp_path / "demo-copy"
    shutil.copytree(CLONE / "data" / "demo", folder, ignore=shutil.ignore_patterns("__pycache__"))
    return folder


@pytest.fixture
def write_case(tmp_path):
    """A function that writes a case (text or bytes of its two files; None leaves one out) and returns its folder."""

    def write(aircraft: str | bytes | None, stalls: str | bytes | None, name: str = "case") -> Path:
        folder = tmp_path / name
        folder.mkdir()
        for file, content in (("aircraft.toml", aircraft), ("stalls.csv", stalls)):
            if content is not None:
                (folder / file).write_bytes(content.encode() if isinstance(content, str) else content)
        return folder

    return write
