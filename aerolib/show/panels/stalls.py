"""The card of stalls: edit it, see what it says."""

from __future__ import annotations

import ipywidgets as w

from aerolib.case.copying import checked_text, new_folder, save_case_as
from aerolib.case.problems import CaseError
from aerolib.case.saving import save_text
from aerolib.case.shipped import is_shipped
from aerolib.case.stalls import FILE
from aerolib.measured.stalls.results import CAUTIONS, StallReduction
from aerolib.show.derivation import derivation
from aerolib.show.figures.stalls import budget_picture, stalls_picture
from aerolib.show.finding import Finding
from aerolib.show.panels.base import Panel, PictureBox, choice, guarded
from aerolib.show.render import body_html, listed, part_html, reader_of, table_html, words
from aerolib.show.sections.clmax import draws_table, method_of, next_of, notes_of, result_table
from aerolib.study import Study
from aerolib.study.stalls import DRAWS

UNDO_STEPS = 50
NOT_FILLED_IN = "not filled in yet"
OF_ONE_STALL = ("ias", "warning_ias", "buffet_ias", "height_lost", "entry_rate", "remarks")  # never copied to another


class StallsPanel(Panel):
    """An editable table of stalls, the results, the pictures and the derivation with the reader's own numbers."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        self.result: StallReduction | None = None
        self.frame = study.case.stalls.frame.copy()
        self._undo: list = []
        self._digest = study.case.digests[FILE]
        self._filling = False
        self._make_table()
        self._make_answers()
        self._update()

    # --- parts ---------------------------------------------------------------------------------------
    def _make_table(self):
        from ipydatagrid import DataGrid

        widths = {c: max(76, 8 * len(str(c)) + 28) for c in self.frame.columns}
        self.grid = DataGrid(self._shown(), editable=True, selection_mode="cell", index_name="row",
                             column_widths=widths, base_row_size=22, layout=w.Layout(height="340px"))  # fmt: skip
        self.grid.add_class("stalls-grid")
        self.grid.on_cell_change(self._edited)
        self.add = self._button("Add a row", self._add, "plus", "a copy of the selected row, or of the last one")
        self.remove = self._button("Remove row", self._remove, "minus", "the row of the selected cell")
        self.undo = self._button("Undo", self._undo_one, "undo", "take back the last change")
        self.save = self._button("Save", self._save, "save", "write stalls.csv; the old one is kept beside it")
        self.folder = w.Text(placeholder="a new folder", layout=w.Layout(width="220px"), continuous_update=False)
        self.folder.description = "Save as"
        self.save_as = self._button("Save as", self._save_as, "folder", "write the whole case to a new folder")
        self.anyway = self._button(
            "Save anyway", self._save_anyway, "warning", "write the table as it stands; it has to be mended later"
        )
        self.anyway.layout.display = "none"
        self.status = w.HTML("Click a cell and type; Enter takes the value, the arrow keys move.")
        self.status.add_class("stalls-status")

    def _make_answers(self):
        self.draw = self._button(
            "Check by Monte Carlo", self._draw_check, "random", "try 100,000 random sets of errors"
        )
        self.drawn, self.read, self.answer, self.steps, self.notes, self.derivation = (
            self._html(name) for name in ("drawn", "read", "result", "steps", "notes", "derivation")
        )
        self.stalls = PictureBox("stalls", 820, 440)
        self.budget = PictureBox("budget", 820, 340)
        self.which, self.row = choice("Budget of", ()), choice("Row", ())
        self.watch(self.which, update=self._draw_budget)
        self.watch(self.row, update=self._derive)
        buttons = w.HBox([self.add, self.remove, self.undo, self.save, self.folder, self.save_as, self.anyway])
        self.assemble(self.read, self.grid, self.error, buttons, self.status, w.HTML("<h3>Result</h3>"), self.answer,
                      self.stalls, self.steps, self.notes, w.HBox([self.draw, self.drawn]),
                      w.HTML("<h3>What the uncertainty is made of</h3>"), self.which, self.budget,
                      w.HTML("<h3>One stall, step by step</h3>"), self.row, self.derivation)  # fmt: skip

    def _html(self, name):
        made = w.HTMLMath() if name == "derivation" else w.HTML()
        made.add_class(f"stalls-{name}")
        return made

    def _button(self, text, handler, icon, tooltip):
        button = w.Button(description=text, icon=icon, tooltip=tooltip, layout=w.Layout(width="auto"))
        button.on_click(handler)
        return button

    def _shown(self):
        shown = self.frame.copy()
        shown.index.name = "row"
        return shown

    # --- what the reader does ------------------------------------------------------------------------
    def _change(self, frame, status):
        """Another table in place of this one, which Undo brings back."""
        self._undo = [*self._undo[-UNDO_STEPS:], self.frame]
        self._renumber(frame, status)

    @guarded
    def _edited(self, change):
        label, column = self.frame.index[change["row"]], change["column"]
        value = "" if change["value"] is None else str(change["value"]).strip()
        if self.frame.at[label, column] != value:
            self._undo = [*self._undo[-UNDO_STEPS:], self.frame.copy()]
            self.frame.at[label, column] = value
            self._update()

    @guarded
    def _add(self, *_):
        import pandas as pd

        old = self.frame.assign(left_out=self.frame.get("left_out", ""))
        place = (self._selected_rows() or [len(old) - 1])[-1]
        new = old.iloc[[place]].copy() if len(old) else pd.DataFrame("", index=[2], columns=old.columns)
        new[[c for c in old.columns if c.split(" [")[0] in OF_ONE_STALL]] = ""
        new["left_out"] = NOT_FILLED_IN
        self._change(
            pd.concat([old.iloc[: place + 1], new, old.iloc[place + 1 :]]),
            f"row {place + 3} was added; it counts once its cells are filled and its 'left_out' is emptied",
        )

    @guarded
    def _remove(self, *_):
        rows = self._selected_rows()
        if not rows:
            raise CaseError("no row is selected; click a cell of the row to remove")
        said = f"removed {len(rows)} row{'s' if len(rows) > 1 else ''}; Undo brings it back"
        self._change(self.frame.drop(self.frame.index[rows]), said)

    @guarded
    def _undo_one(self, *_):
        if self._undo:
            self._renumber(self._undo.pop(), "the last change was taken back")
        else:
            self.status.value = "nothing to undo"

    @guarded
    def _save(self, *_):
        if is_shipped(self.study.folder):
            raise CaseError("this is the demonstration, which is read-only; write a folder's name and press 'Save as'")

        def write(text):
            self._digest = save_text(self.study.folder / FILE, text, self._digest)
            return f"saved to {self.study.folder / FILE}; the last ten before it are {FILE}.001.bak and on"

        self._keep(write)

    @guarded
    def _save_as(self, *_):
        folder = new_folder(self.folder.value)

        def write(text):
            save_case_as(self.study.case, folder, text)
            return f"saved as {folder.resolve()}; open it with: aerolib open {folder}"

        self._keep(write)

    @guarded
    def _save_anyway(self, *_):
        self._keep(self._wanted, sure=True)

    def _keep(self, write, sure=False):
        """A table that could not be read back waits for a second, explicit yes."""
        self._wanted = write
        try:
            text = checked_text(self.study.case, self.frame, lambda f: self.study.changed(stalls=f).reduction, sure)
        except CaseError as e:
            self.anyway.layout.display = ""
            raise CaseError(
                [*str(e).split("\n"), "Mend it, or press Undo. 'Save anyway' writes the table as it stands; the case "
                 "then cannot be opened until it is mended, and the good file stays beside it as a backup."]
            ) from None  # fmt: skip
        self.status.value = words(write(text))
        self.anyway.layout.display = "none"

    @guarded(clears=False)
    def _draw_check(self, *_):
        def progress(done):
            self.drawn.value = f"{done:,} draws"

        result = self.study.changed(draws=DRAWS, progress=progress).reduction
        told = [n for i in result.items for n in i.notes if "random sets" in n]
        says = " ".join(told) or "The two agree to a tenth of the interval."
        self.drawn.value = table_html(draws_table(result)) + part_html(says)

    def _selected_rows(self) -> list[int]:
        rows: set[int] = set()
        for s in self.grid.selections:
            rows.update(range(min(s["r1"], s["r2"]), max(s["r1"], s["r2"]) + 1))
        return sorted(r for r in rows if 0 <= r < len(self.frame))

    # --- what follows from it ------------------------------------------------------------------------
    def _renumber(self, frame, status):
        self.frame = frame.set_axis(range(2, len(frame) + 2))
        self.grid.data = self._shown()
        self.status.value = words(status)
        self._update()

    def _update(self):
        """Reduce the table as it stands; where that cannot be, keep the table, say why, and dim the old answer."""
        self.anyway.layout.display = "none"  # that yes was to another table
        answers = (self.answer, self.stalls.box, self.notes, self.budget.box, self.derivation)
        for widget in answers:
            widget.add_class("aerolib-stale")
        self.study = self.study.changed(stalls=self.frame)
        self.read.value = part_html(self.study.case.read)
        result = self.study.reduction
        for widget in answers:
            widget.remove_class("aerolib-stale")
        self.result, self.drawn.value, reader = result, "", reader_of(self.study.dial_unit)
        found = Finding("clmax", "", parts=(result_table(result), method_of(result)), cautions=CAUTIONS)
        self.answer.value = body_html(found, reader)
        self.steps.value = "".join(part_html(p, reader) for p in next_of(self.study))
        self.notes.value = listed((*notes_of(result), *self.study.left_out))
        self.stalls.show(_digest_of(result), lambda: stalls_picture(result))
        self._options(self.which, [(i.name, k) for k, i in enumerate(result.items)])
        t, rows = self.study.stalls.text, self.study.stalls.row
        self._options(self.row, [(f"{r}: {t['modification'][k]}, {t['configuration'][k]}, {t['flight'][k]}", k)
                                 for k, r in enumerate(rows)])  # fmt: skip
        self._draw_budget()
        self._derive()

    def _options(self, dropdown, options):
        """New options, keeping the place that was chosen where it still stands."""
        chosen = dropdown.index or 0
        if list(dropdown.options) != options:
            self._filling = True  # the two events this makes are not the reader's
            dropdown.options = options
            dropdown.index = min(chosen, len(options) - 1)
            self._filling = False

    @guarded(clears=False)
    def _draw_budget(self, *_):
        if self._filling or self.result is None or self.which.value is None:
            return
        item = self.result.items[self.which.value]
        lines = item.estimate.budget()
        longest = lines[0].contribution
        # To what can be seen: a bar to a hundredth of the longest, the scale to two digits.
        key = (item.name, f"{longest:.2g}", *((b.name, round(100 * b.contribution / longest)) for b in lines))
        self.budget.show(key, lambda: budget_picture(item))

    @guarded(clears=False)
    def _derive(self, *_):
        if not self._filling and self.result is not None and self.row.value is not None:
            self.derivation.value = part_html(derivation(self.study, self.row.value))


def _digest_of(result: StallReduction):
    """What the picture of the stalls shows, to the precision it can show."""
    p = result.points
    items = tuple(
        (i.name, *(round(x, 4) for x in (e.value, *e.interval95))) for i in result.items for e in (i.estimate,)
    )
    return items, tuple(p.cl.round(4).tolist()), tuple(p.own_uncertainty.round(4).tolist()), tuple(p.outcome.tolist())
