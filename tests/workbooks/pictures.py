"""Takes README's pictures anew: `pytest tests/workbooks/pictures.py` (not collected by default)."""

from pathlib import Path

import pytest

PICTURES = Path(__file__).resolve().parents[2] / "workbooks" / "pictures"
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.mark.parametrize(
    "name, first, picture",
    [
        ("01-clmax-from-stalls.ipynb", ".stalls-grid", "workbook-clmax.png"),
        ("03-before-and-after.ipynb", ".change-result", "workbook-change.png"),
        ("08-flow-control-before-you-buy.ipynb", ".flow-worth", "workbook-flow.png"),
    ],
)
def test_workbook(open_workbook, name, first, picture):
    page = open_workbook(name).page
    page.evaluate("() => window.jupyterapp.commands.execute('application:toggle-left-area')")
    page.set_viewport_size({"width": 1180, "height": 1180})
    place = page.locator(first).first
    place.wait_for()
    place.evaluate("e => e.scrollIntoView({block: 'start'})")
    page.wait_for_timeout(1500)  # a picture for people: let the layout settle
    page.screenshot(path=PICTURES / picture)
