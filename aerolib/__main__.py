"""The command line: `new`, `open` and `report`, and nothing else."""

from __future__ import annotations

import contextlib
import sys  # all else is imported where Ctrl-C is answered already


def main(arguments: list[str] | None = None) -> int:
    """Run the command line; 0 when done, 2 with one clear message when the input is wrong, 1 where
    the program is at fault, 130 when stopped.

    `arguments` are those of the process where none are given, which then ends with the command.
    """
    stopped: list[int] = []
    try:
        if arguments is None:
            _stop_in_words(stopped)
        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):  # a letter that the output has no code for is written as its number
                stream.reconfigure(errors="backslashreplace")
        return _run(arguments)
    except BaseException as e:  # a library that is stopped while it loads may say that it is broken
        if not stopped and not isinstance(e, KeyboardInterrupt):
            if isinstance(e, Exception):
                return _explained(e)
            raise
        _heed_no_more(arguments)
        print("aerolib: stopped", file=sys.stderr)
        return 130
    finally:
        _heed_no_more(arguments)


def _stop_in_words(stopped: list) -> None:
    """Ctrl-C is remembered in `stopped` and raised; where it cannot be raised (in a finalizer) the process ends."""
    import os
    import signal

    def stop(number, frame):
        stopped.append(number)
        raise KeyboardInterrupt

    def unraisable(what):
        if issubclass(what.exc_type, KeyboardInterrupt):
            os.write(2, b"aerolib: stopped\n")
            os._exit(130)
        sys.__unraisablehook__(what)

    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:  # a script's '&' has it ignored
        signal.signal(signal.SIGINT, stop)
        sys.unraisablehook = unraisable


def _heed_no_more(arguments) -> None:
    """The process is about to end by itself: another Ctrl-C has nothing left to stop."""
    if arguments is None:
        import signal

        signal.signal(signal.SIGINT, signal.SIG_IGN)


def _run(arguments: list[str] | None) -> int:
    import argparse
    from pathlib import Path

    from aerolib.show.media import discard

    parser = argparse.ArgumentParser(
        prog="aerolib", description="What a light airplane's wing does, from what its owner measured."
    )
    commands = parser.add_subparsers(dest="command")
    new = commands.add_parser("new", help="start a case of your own in an empty folder")
    new.add_argument("folder", type=Path)
    start = commands.add_parser("open", help="open the workbooks in JupyterLab")
    start.add_argument("case", type=Path, nargs="?", help="a case folder; the demonstration where none is named")
    start.add_argument("--no-browser", action="store_true", help="start the server, open no window")
    report = commands.add_parser("report", help="reduce a case and write its report")
    report.add_argument("case", type=Path)
    report.add_argument("--out", type=Path, help="folder for the report (default: report-CASE here)")
    report.add_argument("--json", action="store_true", help="print the JSON instead of the table")
    given = parser.parse_args(arguments)
    if given.command is None:
        parser.print_help(sys.stderr)
        return 2
    try:
        return {"new": _new, "open": _open, "report": _report}[given.command](given)
    except BrokenPipeError:  # the reader of a pipe, such as `head`, had enough
        discard(sys.stdout)
        return 0


def _explained(error: Exception) -> int:
    """The only door out: words, never a traceback; 2 where the input is wrong, 1 where the program is."""
    from aerolib.case.problems import reason_of
    from aerolib.show.fault import words_of
    from aerolib.show.media import say

    say(f"aerolib: {words_of(error)}", sys.stderr)
    return 1 if reason_of(error) is None else 2


def _report(given) -> int:
    import json

    from tqdm import tqdm

    from aerolib.show.jsonform import as_json
    from aerolib.show.media import say
    from aerolib.show.report import POINTS, points_csv, report_html, write_report
    from aerolib.show.sections import Door, sections_of
    from aerolib.show.terminal import report_text
    from aerolib.study import open_study
    from aerolib.study.stalls import DRAWS
    from aerolib.teach.method_summary import NAME, method_summary

    with tqdm(desc="drawing", unit=" draws", leave=False, disable=None, delay=1.0) as bar:
        study = open_study(given.case, draws=DRAWS, progress=lambda done: bar.update(done - bar.n))
        with _writing(given):
            folder = _folder(study, given)
        door = Door()
        if study.flown is None:
            return _report_before(study, folder, given, door)
    sections, more = sections_of(study, door)
    data = as_json(study, door, more)
    page = report_html(study, sections, door)
    data["notes"] += door.told
    files = {name: content for s in sections for name, content in s.files.items()}
    if data.get("operating_speeds"):
        files[NAME] = method_summary()
    with _writing(given):
        written = write_report(folder, page, data, {POINTS: points_csv(study), **files})
    if given.json:
        say(json.dumps(data, indent=1, allow_nan=False))
        return _told(written, door)
    say(report_text(study))
    say(f"\nReport: {written.html}\nReduced stalls: {written.points}")
    say(f"Workbooks: aerolib open {given.case}   (opens JupyterLab in the browser; Ctrl-C here ends it)")
    return _told(written, door)


def _told(written, door) -> int:
    """Say what failed and what else lies in the folder; the exit status, 1 where the program is at fault."""
    from aerolib.show.media import say

    for sentence in door.told:
        say(f"aerolib: {sentence}", sys.stderr)
    if written.foreign:
        say(f"aerolib: not of this report, and left as they were: {', '.join(written.foreign)}", sys.stderr)
    return 1 if door.faults else 0


def _folder(study, given):
    """Where the report goes; refused inside the case, where one stands, and where there is something of another's."""
    from pathlib import Path

    from aerolib.case.problems import CaseError
    from aerolib.case.shipped import is_shipped
    from aerolib.show.report import default_folder, own_files

    folder = given.out or default_folder(study)
    if folder.resolve().is_relative_to(study.folder.resolve()):
        raise CaseError(f"the report is never written inside the case; name another folder than {folder} with --out")
    if is_shipped(folder):
        raise CaseError(f"{folder} belongs to the installation, which is read-only; name another folder with --out")
    if folder.exists() and not folder.is_dir():
        raise CaseError(f"{folder} is a file; name a folder with --out")
    if Path.cwd().is_relative_to(folder.resolve()):
        raise CaseError(f"you stand in {folder}, and a report has a folder of its own; name another with --out")
    own_files(folder)
    return folder


@contextlib.contextmanager
def _writing(given):
    """A folder that cannot be written to is said in words."""
    from aerolib.case.problems import CaseError

    try:
        yield
    except OSError as e:
        raise CaseError(
            f"the report could not be written to {given.out or 'this folder'}: {e.strerror}; name a folder with --out"
        ) from None


def _report_before(study, folder, given, door) -> int:
    """The report of a case without stalls: predictions, layout and sheets."""
    import json

    from aerolib.show.before import NOT_YET, report_before_flying
    from aerolib.show.media import say

    with _writing(given):
        written, data = report_before_flying(study, folder, door)
    if given.json:
        say(json.dumps(data, indent=1, allow_nan=False))
        return _told(written, door)
    say(f"{study.name}: {NOT_YET}\n\nReport: {written.html}\nWorkbooks: aerolib open {given.case}")
    return _told(written, door)


def _new(given) -> int:
    from aerolib.case.template import new_case
    from aerolib.show.media import say
    from aerolib.show.print.sheets import measuring_sheet

    written = new_case(given.folder)
    written.append(measuring_sheet(given.folder / "measuring-sheet.pdf"))
    say(f"A new case in {given.folder}:")
    for path in written:
        say(f"  {path.name}")
    say("Print measuring-sheet.pdf, measure, fill in aircraft.toml and stalls.csv, then: "
        f"aerolib report {given.folder}")  # fmt: skip
    return 0


def _open(given) -> int:
    from aerolib.show.opening import open_workbooks

    return open_workbooks(given.case, browser=not given.no_browser)


if __name__ == "__main__":
    sys.exit(main())
