"""Every workbook runs from a clean kernel, and no output holds an error (executed copies, never in place)."""

import os
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient
from waiting import PATIENCE

REPOSITORY = Path(__file__).resolve().parents[2]
WORKBOOKS = sorted((REPOSITORY / "workbooks").glob("*.ipynb"))
DRIVE = {
    "12-operating-speeds": (
        "before = panel.result.value\n"
        "panel.mass.value = 480\n"
        "assert panel.error.value == '', panel.error.value\n"
        "assert panel.result.value != before and panel.distances.drawn == 2 and panel.diagram.drawn == 2"
    ),
    "10-landing-attitude": (
        "before = panel.result.value\n"
        "panel.speed.value = 44.0\n"
        "assert panel.error.value == '', panel.error.value\n"
        "assert panel.result.value != before and panel.picture.drawn == 2"
    ),
    "11-tail-authority": (
        "before = panel.result.value\n"
        "panel.cg.value = 29.0\n"
        "panel.near.value = False\n"
        "assert panel.error.value == '', panel.error.value\n"
        "assert panel.result.value != before and panel.picture.drawn == 2"
    ),
    "04-calibrate-airspeed": (
        "before = panel.result.value\n"
        "panel.speed[0].value += 5\n"
        "assert panel.error.value == '', panel.error.value\n"
        "assert panel.result.value != before and panel.circle.drawn == 2 and panel.correction.drawn == 2"
    ),
    "05-stalls-from-a-recording": (
        "panel.verdict.value = 'accepted'\n"
        "assert panel.error.value == '', panel.error.value\n"
        "assert '>1</b> accepted' in panel.summary.value and panel.overview.drawn == 2 and panel.drawn.drawn == 1"
    ),
    "09-lay-it-out": (
        "panel.controls['pitch'].value = 100.0\n"
        "assert panel.error.value == '', panel.error.value\n"
        "assert panel.layouts[0].count == 31 - len(panel.layouts[0].dropped) and panel.picture.drawn == 2"
    ),
    "03-before-and-after": (
        "before = panel.answer.value\n"
        "panel.leave_out.value = ('before', 'B1')\n"
        "assert panel.error.value == '' and panel.answer.value != before"
    ),
    "06-wing-and-section": (
        "before = panel.by_hand.value\n"
        "panel.taper.value = 0.5\n"
        "assert panel.error.value == '', panel.error.value\n"
        "assert panel.by_hand.value != before and panel.picture.drawn == 2"
    ),
    "08-flow-control-before-you-buy": (
        "before = panel.by_hand.value\n"
        "panel.sliders['height'].value = 8.0\n"
        "assert panel.error.value == '', panel.error.value\n"
        "assert panel.by_hand.value != before and panel.layer.drawn == 2"
    ),
    "07-flap-increment": (
        "before = panel.by_hand.value\n"
        "panel.deflection.value = 15\n"
        "assert panel.error.value == '', panel.error.value\n"
        "assert panel.by_hand.value != before and panel.picture.drawn == 2"
    ),
    "00-start": (
        "p = AnglesPanel(study)\np.pitch.value = 12.0\nassert '18.0' in p.result.value\nassert p.picture.drawn == 2"
    ),
    "01-clmax-from-stalls": (
        "before = panel.result['before', 'clean'].clmax.value\n"
        "panel._edited({'row': 0, 'column': 'ias [kt]', 'value': '39'})\n"
        "assert panel.error.value == '', panel.error.value\n"
        "assert panel.result['before', 'clean'].clmax.value > before"
    ),
    "02-plan-the-test": (
        "before = panel.plan.cells[5].half_width\n"
        "panel.day_scatter.value += 1.0\n"
        "assert panel.error.value == '', panel.error.value\n"
        "assert panel.plan.cells[5].half_width > before and panel.picture.drawn == 2"
    ),
}


@pytest.mark.parametrize("path", WORKBOOKS, ids=lambda p: p.stem)
@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_runs_from_a_clean_kernel(path, tmp_path, monkeypatch):
    monkeypatch.setenv("AEROLIB_CASE", str(REPOSITORY / "data" / "demo"))
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(REPOSITORY), os.environ.get("PYTHONPATH", "")]))
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path / "ipython"))
    notebook = nbformat.read(path, as_version=4)
    notebook.cells.append(nbformat.v4.new_code_cell(DRIVE[path.stem]))
    NotebookClient(notebook, timeout=PATIENCE, resources={"metadata": {"path": str(tmp_path)}}).execute()
    outputs = [o for c in notebook.cells if c.cell_type == "code" for o in c.outputs]
    assert not [o for o in outputs if o.output_type == "error"]
    assert any("application/vnd.jupyter.widget-view+json" in o.get("data", {}) for o in outputs)


def test_every_workbook_is_driven():
    assert {p.stem for p in WORKBOOKS} == set(DRIVE)
