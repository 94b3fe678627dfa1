"""One JupyterLab server for all browser tests, and a browser found on this machine."""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from dataclasses import dataclass
from pathlib import Path

import pytest
from waiting import PATIENCE, PATIENCE_MS

REPOSITORY = Path(__file__).resolve().parents[2]
INSTALL = "no Chromium found; install it with: apt-get install chromium  (or set AEROLIB_CHROMIUM to its path)"
SETTINGS = {
    "notebook-extension/tracker": {"windowingMode": "none", "autoStartDefaultKernel": True},
    "apputils-extension/notification": {"fetchNews": "false", "checkForUpdates": False},
    "docmanager-extension/plugin": {"autosave": False},
}


def chromium() -> str | None:
    """Path of the browser: AEROLIB_CHROMIUM, else the usual names on PATH."""
    named = os.environ.get("AEROLIB_CHROMIUM")
    if named:
        return named
    return next((p for n in ("chromium", "chromium-browser", "google-chrome") if (p := shutil.which(n))), None)


@dataclass
class Lab:
    """A running server and where its notebooks are."""

    url: str
    token: str
    folder: Path
    log: Path


@pytest.fixture(scope="session")
def browser():
    """A headless browser, or a skip with the install line (a failure where AEROLIB_REQUIRE_BROWSER=1)."""
    path = chromium()
    if path is None or not Path(path).exists():
        if os.environ.get("AEROLIB_REQUIRE_BROWSER") == "1":
            pytest.fail(INSTALL)
        pytest.skip(INSTALL)
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=PATIENCE_MS)

    with sync_playwright() as play:
        chrome = play.chromium.launch(
            executable_path=path,
            args=["--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu", "--disable-background-networking",
                  "--disable-component-update", "--disable-sync", "--no-first-run", "--force-color-profile=srgb"],
        )  # fmt: skip
        yield chrome
        chrome.close()


@pytest.fixture(scope="session")
def lab(browser, tmp_path_factory):
    """JupyterLab over copies of the workbooks, with the demonstration as the case."""
    base = tmp_path_factory.mktemp("lab")
    folder = base / "workbooks"
    folder.mkdir()
    for notebook in (REPOSITORY / "workbooks").glob("*.ipynb"):
        shutil.copyfile(notebook, folder / notebook.name)
    for name, value in SETTINGS.items():
        place = base / "settings" / "@jupyterlab" / f"{name}.jupyterlab-settings"
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(json.dumps(value))
    environment = {
        **os.environ, "JUPYTER_CONFIG_DIR": str(base / "config"), "JUPYTERLAB_SETTINGS_DIR": str(base / "settings"),
        "JUPYTERLAB_WORKSPACES_DIR": str(base / "workspaces"), "JUPYTER_RUNTIME_DIR": str(base / "runtime"),
        "IPYTHONDIR": str(base / "ipython"), "AEROLIB_CASE": str(REPOSITORY / "data" / "demo"),
        "PYTHONPATH": os.pathsep.join([str(REPOSITORY), os.environ.get("PYTHONPATH", "")]),
    }  # fmt: skip
    token = secrets.token_hex(12)
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        port = s.getsockname()[1]
    log = base / "lab.log"
    with log.open("wb") as out:
        server = subprocess.Popen(
            [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", f"--ServerApp.port={port}",
             "--ServerApp.ip=127.0.0.1", "--ServerApp.port_retries=0", f"--IdentityProvider.token={token}",
             f"--ServerApp.root_dir={folder}", "--expose-app-in-browser"],
            env=environment, cwd=folder, stdout=out, stderr=subprocess.STDOUT,
        )  # fmt: skip
    lab = Lab(f"http://127.0.0.1:{port}", token, folder, log)
    try:
        _wait_until_up(lab, server)
        yield lab
    finally:
        server.terminate()
        with contextlib.suppress(subprocess.TimeoutExpired):
            server.wait(20)
        if server.poll() is None:
            server.kill()
            server.wait()


def _wait_until_up(lab: Lab, server) -> None:
    deadline = time.monotonic() + PATIENCE
    while time.monotonic() < deadline:
        if server.poll() is not None:
            raise RuntimeError(f"JupyterLab ended: {lab.log.read_text()[-2000:]}")
        with contextlib.suppress(OSError), urllib.request.urlopen(f"{lab.url}/api/status?token={lab.token}") as r:
            if r.status == 200:
                return
        time.sleep(0.2)
    raise RuntimeError(f"JupyterLab did not answer: {lab.log.read_text()[-2000:]}")


class Workbook:
    """One workbook open in the browser, run from the top."""

    def __init__(self, page, lab: Lab, name: str, case: Path | None = None):
        self.page = page
        page.goto(f"{lab.url}/lab/tree/{name}?token={lab.token}&reset")
        page.wait_for_function(
            "() => { const w = window.jupyterapp?.shell?.currentWidget; const s = w?.sessionContext;"
            " return s && s.isReady && s.session?.kernel?.status === 'idle' && w.content?.model?.cells?.length > 0; }",
            timeout=PATIENCE_MS,
        )
        if case is not None:  # the kernel is told before anything runs: `opened_case` reads it there
            code = f"import os; os.environ['AEROLIB_CASE'] = {str(case)!r}"
            page.evaluate(
                "c => window.jupyterapp.shell.currentWidget.sessionContext.session.kernel"
                ".requestExecute({code: c, store_history: false}).done.then(() => true)",
                code,
            )
        self.run_all()

    def run_all(self) -> None:
        """Run > Run All Cells, and wait until every code cell has been counted."""
        self.page.evaluate("() => { window.jupyterapp.commands.execute('notebook:run-all-cells'); }")
        self.page.wait_for_function(
            "() => { const c = [...window.jupyterapp.shell.currentWidget.content.model.cells]"
            ".filter(x => x.type === 'code' && x.sharedModel.getSource().trim());"
            " return c.length && c.every(x => x.executionCount); }",
            timeout=PATIENCE_MS,
        )

    def errors(self) -> list:
        """Error outputs of all cells."""
        return self.page.evaluate(
            "() => [...window.jupyterapp.shell.currentWidget.content.model.cells].filter(c => c.type === 'code')"
            ".flatMap(c => c.outputs.toJSON()).filter(o => o.output_type === 'error').map(o => o.ename + o.evalue)"
        )

    def picture(self, name: str) -> str:
        """The bytes of a picture as the browser has them, base64."""
        image = self.page.locator(f"img.picture-{name}, .picture-{name} img").first
        image.wait_for(state="visible", timeout=PATIENCE_MS)
        self.page.wait_for_function("e => e.complete && e.naturalWidth > 0", arg=image.element_handle())
        return image.evaluate(
            "async e => { const b = await (await fetch(e.src)).blob(); const a = new Uint8Array(await b.arrayBuffer());"
            " let s = ''; for (const x of a) s += String.fromCharCode(x); return btoa(s); }"
        )

    def wait_for_new_picture(self, name: str, old: str) -> str:
        """The bytes of a picture once they differ from `old`."""
        deadline = time.monotonic() + PATIENCE
        while time.monotonic() < deadline:
            new = self.picture(name)
            if new != old:
                return new
            self.page.wait_for_timeout(100)
        raise AssertionError(f"the picture '{name}' did not change")


@pytest.fixture
def open_workbook(browser, lab):
    """Function that opens a workbook in a new page and runs it; pages are closed, their kernels shut down."""
    pages = []

    def opened(name: str, case: Path | None = None) -> Workbook:
        page = browser.new_page(viewport={"width": 1500, "height": 1100})
        page.set_default_timeout(PATIENCE_MS)
        pages.append(page)
        return Workbook(page, lab, name, case)

    yield opened
    for page in pages:
        page.evaluate("() => window.jupyterapp.shell.currentWidget?.sessionContext?.shutdown()")
        page.close()


@pytest.fixture
def demo_without_legs(case_folder):
    """A copy of the demonstration that has only its owner's table to correct the needle by: a hand formula can."""
    (case_folder / "airspeed_legs.csv").unlink()
    return case_folder
