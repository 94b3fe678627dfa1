"""What can be wrong with a section: each message says what was given, what is needed and what to do."""

import numpy as np
import pytest
from cards import AIRCRAFT

from aerolib.case.problems import CaseError
from aerolib.case.published import section_table
from aerolib.predicted.section import section_lift
from aerolib.predicted.section.shapes import checked_points, four_digit, shape_of
from aerolib.study import open_study
from aerolib.study.section import section_of

GOOD = four_digit("2412")


@pytest.mark.parametrize(
    "name, words",
    [
        ("NACA 44112", "did you mean 'NACA 4412'"),
        ("clrk y", "did you mean 'clarky'"),
        ("NACA 65-415", "NACA 65_2-415"),
        ("", "no name"),
        ("zzqqxx 9!", "nothing like it"),
        ("single surface, cloth", "out of range"),
        ("NACA 2012", "both zero or neither"),
        ("NACA 0001", "3 to 35 %"),
        ("NACA 23001", "3 to 35 %"),
    ],
)
def test_names(name, words):
    with pytest.raises(ValueError, match=words):
        section_lift(name, 2e6, table=section_table())


@pytest.mark.parametrize(
    "points, words",
    [
        (GOOD[::-1], "lower side stands first"),
        (np.vstack((GOOD[: len(GOOD) // 2 + 1][::-1], GOOD[len(GOOD) // 2 :])), "do not begin and end at the trailing"),
        (GOOD[:-30], "not closed"),
        (GOOD * 100.0, "in percent"),
        (GOOD * 1.3, "divide both columns by the chord"),
        (GOOD + [0.3, 0.0], "subtract the x of the nose"),
        (GOOD[np.r_[0:20, 40:20:-1, 40 : len(GOOD)]], "does not run evenly"),
        (GOOD * [1.0, 0.1], "single-surface"),
        (GOOD * [1.0, 4.0], "is y over the chord"),
        (GOOD[::20], "at least 15 rows"),
        (GOOD.ravel(), "two columns"),
        (np.where(GOOD == GOOD[5], np.nan, GOOD), "no number"),
    ],
)
def test_points(points, words):
    with pytest.raises(ValueError, match=words):
        checked_points(points)


@pytest.mark.parametrize("reynolds", [0.0, -1e6, 1e5, 1e9, float("nan")])
def test_reynolds_number(reynolds):
    with pytest.raises(ValueError, match="kinematic viscosity"):
        section_lift("NACA 2412", reynolds, table=section_table())


@pytest.mark.parametrize("what, size", [("sag", 2.0), ("sag", -0.001), ("surface_break", 0.02), ("gap", 0.3),
                                        ("gap", float("nan"))])  # fmt: skip
def test_sizes_that_are_percents_or_lengths(what, size):
    with pytest.raises(ValueError, match=f"{what} is .* over the chord"):
        section_lift("NACA 2412", 2e6, table=section_table(), **{what: size})


def test_spellings_are_one_section():
    table = section_table()
    for one, other in (("NACA 63_1-212", "naca 63(1)-212"), ("NACA 2412", "2412"), ("NACA 23012", "naca_23012")):
        assert section_lift(one, 3e6, table=table).clmax.value == section_lift(other, 3e6, table=table).clmax.value
    assert shape_of("FX 63-137").camber > 0.04 and shape_of("Clark Y").thickness == pytest.approx(0.117, abs=0.002)


@pytest.fixture
def case(small):
    """A case whose [wing] has these lines more, and these files beside it."""

    made = []

    def make(lines, span='span = "9.0 m"', **files):
        made.append(lines)
        folder = small(AIRCRAFT.replace("[wing]", f"[wing]\n{span}\n{lines}", 1), name=f"case{len(made)}")
        for name, text in files.items():
            (folder / f"{name}.txt").write_text(text, encoding="utf-8")
        return open_study(folder)

    return make


def _listed(points):
    return "\n".join(f"{x:.6f}  {y:.6f}" for x, y in points)


def test_case_names_the_place(case):
    with pytest.raises(CaseError, match=r"\[wing\] section 'NACA 44112'.*did you mean 'NACA 4412'"):
        section_of(case('section = "NACA 44112"'))
    with pytest.raises(CaseError, match=r"\[wing\] section is missing"):
        section_of(case(""))
    with pytest.raises(CaseError, match=r"\[wing\] span is missing"):
        section_of(case('section = "NACA 4412"', span=""))


@pytest.mark.parametrize(
    "text, words",
    [
        (None, "there is no `own.txt`"),
        ("own section\nsecond line of words\n" + _listed(GOOD), "row 2: 'second line of words' is not two numbers"),
        (_listed(GOOD).replace("0.", "0,"), "row"),
        (_listed(GOOD[::-1]), "lower side stands first"),
        ("", "two columns"),
    ],
)
def test_file_of_points(case, text, words):
    with pytest.raises(CaseError, match="section_file.*") as caught:
        section_of(case('section_file = "own.txt"', **({} if text is None else {"own": text})))
    assert words in str(caught.value)


def test_file_outside_the_case(case):
    with pytest.raises(CaseError, match="outside the folder of the case"):
        section_of(case('section_file = "../own.txt"'))


def test_file_of_points_is_the_section(case):
    # the same section by name and by its points; a title line, blank lines and commas are allowed
    named = section_of(case('section = "NACA 4412"'))
    text = "my own section\n\n" + "\n".join(f"{x:.6f}, {y:.6f}  # remark" for x, y in four_digit("4412"))
    own = section_of(case('section = "as drawn"\nsection_file = "own.txt"', own=text))
    assert own.name == "as drawn" and own.clmax.value == pytest.approx(named.clmax.value, rel=2e-3)
