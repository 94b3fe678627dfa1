"""Takes README's pictures anew: `pytest tests/workbooks/pictures.py` (not collected by default)."""

from pathlib import Path

import pytest

from aerolib.show.report import report_html
from aerolib.show.sections import sections_of
from aerolib.study import open_study

REPOSITORY = Path(__file__).resolve().parents[2]
PICTURES = REPOSITORY / "workbooks" / "pictures"
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


def test_workbooks(open_workbook):
    for name, first, picture in (
        ("00-start.ipynb", ".picture-angles", "workbook-start.png"),
        ("01-clmax-from-stalls.ipynb", ".stalls-grid", "workbook-clmax.png"),
        ("03-before-and-after.ipynb", ".change-result", "workbook-change.png"),
        ("03-before-and-after.ipynb", ".checks-result", "workbook-checks.png"),
        ("04-calibrate-airspeed.ipynb", ".calibration-result", "workbook-calibrate.png"),
        ("05-stalls-from-a-recording.ipynb", ".picture-stall", "workbook-recording.png"),
        ("06-wing-and-section.ipynb", ".picture-wing", "workbook-wing.png"),
        ("07-flap-increment.ipynb", ".picture-flap", "workbook-flap.png"),
        ("08-flow-control-before-you-buy.ipynb", ".flow-worth", "workbook-flow.png"),
        ("09-lay-it-out.ipynb", ".picture-layout", "workbook-layout.png"),
        ("10-landing-attitude.ipynb", ".landing-result", "workbook-landing.png"),
        ("11-tail-authority.ipynb", ".tail-result", "workbook-tail.png"),
        ("12-operating-speeds.ipynb", ".operating-result", "workbook-operating.png"),
    ):
        workbook = open_workbook(name)
        page = workbook.page
        page.evaluate("() => window.jupyterapp.commands.execute('application:toggle-left-area')")
        page.set_viewport_size({"width": 1180, "height": 1180})
        place = page.locator(first).first
        place.wait_for()
        place.evaluate("e => e.scrollIntoView({block: 'start'})")
        page.wait_for_timeout(1500)  # a picture for people: let the layout settle
        page.screenshot(path=PICTURES / picture)


def test_report(browser, tmp_path):
    case = open_study(REPOSITORY / "data" / "demo")
    html = tmp_path / "report.html"
    sections, _ = sections_of(case)
    html.write_text(report_html(case, sections), encoding="utf-8")
    page = browser.new_page(viewport={"width": 960, "height": 1250})
    page.goto(html.as_uri())
    page.screenshot(path=PICTURES / "report.png")
    page.close()


def test_measuring_sheet():
    import pypdfium2

    from aerolib.show.print.sheets import measuring_sheet

    path = measuring_sheet(Path(PICTURES) / "sheet.pdf")
    document = pypdfium2.PdfDocument(path)
    document[1].render(scale=1.4).to_pil().save(PICTURES / "measuring-sheet.png")
    document.close()
    path.unlink()
