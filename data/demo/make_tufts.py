"""The demonstration's tufts: where the invented wing's flow had let go, before and after, as a film would show it.

    python data/demo/make_tufts.py       writes tufts.csv into this folder

Nothing of the library is imported.
"""

from __future__ import annotations

from pathlib import Path

HEADER = "modification,configuration,ias [kt],surface,span_station [m],chord_station [%],remarks"
# Invented: the inner wing lets go first, beside the fuselage, and the stall walks outward and forward.
SEEN = {
    ("before", "clean"): {
        46: ((0.75, 85),),
        43: ((0.75, 62), (1.50, 80)),
        41: ((0.75, 45), (1.50, 58), (2.40, 78)),
        39: ((0.75, 25), (1.50, 35), (2.40, 55), (3.30, 82)),
    },
    ("after", "clean"): {
        43: ((0.75, 84),),
        40: ((0.75, 60), (1.50, 88)),
        37: ((0.75, 38), (1.50, 66), (2.40, 84)),
    },
}


def rows():
    """Lines of the table, the header first."""
    out = [HEADER]
    for (modification, configuration), speeds in SEEN.items():
        for ias, stations in speeds.items():
            out += [f"{modification},{configuration},{ias},wing,{y:.2f},{x},invented" for y, x in stations]
    return out


def main(folder=Path(__file__).parent):
    """Write tufts.csv."""
    (folder / "tufts.csv").write_text("\n".join(rows()) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
