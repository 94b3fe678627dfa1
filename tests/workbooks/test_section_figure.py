"""The picture of a section: drawn from its numbers, said in words, with and without what a tunnel measured."""

import pytest

from aerolib.case.published import section_table
from aerolib.predicted.section import section_lift
from aerolib.show.section_figure import raw_of, section_picture


@pytest.mark.parametrize("name, measured", [("naca 2412", True), ("NACA 4412", False), ("NACA 64_1-412", True)])
def test_picture(name, measured):
    found = section_lift(name, 2e6, table=section_table())
    rough = section_lift(name, 2e6, table=section_table(), rough=True)
    raw = raw_of(found)
    assert (raw is None) == (name == "NACA 64_1-412")  # no shape at hand: the picture is drawn without it
    picture = section_picture(found, rough=rough, raw=raw)
    assert (picture.width, picture.height) == (760, 440) and picture.png.startswith(b"\x89PNG")
    assert ("Measured curves shown" in picture.alternative) is measured
    assert found.clmax.text() in picture.alternative and rough.clmax.text() in picture.alternative
    assert raw is None or f"{raw.clmax:.2f}" in picture.alternative
    assert section_picture(found, rough=rough, raw=raw).png == picture.png
    other = section_lift(name, 1e6, table=section_table())
    assert section_picture(other, rough=rough, raw=raw).png != picture.png
