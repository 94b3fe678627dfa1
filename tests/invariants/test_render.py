"""A sentence has slots, a column a unit, and the reader chooses it: the same finding in text, HTML and two units."""

import re

import pytest

from aerolib.estimate import Estimate, Source
from aerolib.show.finding import Column, Finding, Heading, Quantity, Sentence, Steps, Table, quantity
from aerolib.show.render import ANYBODY, Reader, as_text, body_html, cells, said, shown

FALL = Estimate("fall", 1.0288889, "m/s", {Source("reading", "stall"): 0.257222})  # 2 kt, 0.5 kt
MPH = Reader((("speed_change", "mph"), ("speed_cas", "mph")))


def finding(name="flap 20"):
    rows = ((name, quantity(FALL, "speed_change"), Quantity(None, "speed_cas", unknown="not calibrated")),)
    table = Table((Column("flap"), Column("fall", "speed_change"), Column("approach", "speed_cas")), rows)
    answer = (Sentence("{flap} stalls {fall} slower", {"flap": name, "fall": quantity(FALL, "speed_change")}),)
    return Finding(
        "fall", "Did it help?", answer, (Heading("By flap"), table, Steps(("fly again",))), ("no spin",), "src"
    )


def test_a_slot_is_filled_in_the_readers_unit_with_the_digits_its_uncertainty_deserves():
    """2 kt within 0.98 kt; in mph 2.30 within 1.13, by 1.15078 mph in a knot."""
    sentence = finding().answer[0]
    assert said(sentence) == "flap 20 stalls 2.0 kt (1.0 to 3.0) slower"
    assert said(sentence, MPH) == "flap 20 stalls 2.3 mph (1.2 to 3.4) slower"


@pytest.mark.parametrize(
    "how, words",
    [("value", "2.0 kt"), ("number", "2.0"), ("interval", "1.0 to 3.0 kt"), ("", "2.0 kt (1.0 to 3.0)")],
)
def test_a_slot_says_how_much_of_a_quantity_is_shown(how, words):
    assert shown(quantity(FALL, "speed_change"), ANYBODY, how) == words


def test_a_column_carries_its_unit_and_its_cells_are_bare():
    head, row = cells(finding().parts[1])
    assert head == ["flap", "fall [kt]", "approach [kt CAS]"] and row == [
        "flap 20",
        "2.0 (1.0 to 3.0)",
        "not calibrated",
    ]
    assert cells(finding().parts[1], MPH)[0] == ["flap", "fall [mph]", "approach [mph CAS]"]


def test_more_uncertain_numbers_get_fewer_digits_and_nothing_is_minus_zero():
    wide = quantity(Estimate("x", 12.34, "m/s", {Source("a", "stall"): 12.0}), "speed_change")
    assert shown(wide, ANYBODY, "value") == "24 kt"  # 23.99 within 46
    assert shown(Quantity(-0.001, "speed_change"), ANYBODY) == "0.0 kt"


def test_what_an_owner_writes_is_text_in_html():
    page = body_html(finding("<script>alert(1)</script>"))
    assert "<script" not in page and "&lt;script&gt;" in page
    assert re.search(r'<th scope="col">fall \[kt\]</th>', page) and '<ul class="cautions"><li>no spin' in page


def test_text_and_page_say_the_same_numbers():
    numbers = re.compile(r"\d+\.\d+")
    text, page = as_text(finding()), re.sub(r"<[^>]+>", " ", body_html(finding()))
    assert numbers.findall(text) == numbers.findall(page) != []
