"""What one estimate gives to the report: a title, HTML, its keys of the JSON, and files to write."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Section:
    """One estimate's part of the report; `data` holds plain values under the estimate's keys, null where unknown."""

    title: str
    html: str
    data: dict = field(default_factory=dict)
    ledger: tuple[str, ...] = ()  # sentences for the ledger at the top
    files: dict[str, bytes] = field(default_factory=dict)  # file name -> what to write beside the report
