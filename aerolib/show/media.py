"""What a medium would act on instead of showing is taken out of an owner's words, one function for each medium.

Pages escape by themselves (jinja2, `html.escape`) and JSON does; pictures and sheets are drawn in `pictures.own_style`.
"""

from __future__ import annotations

import os
import sys
import unicodedata

from aerolib.case.problems import CaseError

_ACTED_ON = {"Cc", "Cf", "Cs", "Zl", "Zp"}  # control, format (writing direction), halves of a letter, odd line ends


def printable(text: str) -> str:
    """Text without control characters, for a terminal and for paper; lines stay lines."""
    if text.isprintable():
        return text
    return "".join(c for c in text if c == "\n" or unicodedata.category(c) not in _ACTED_ON)


def cell(text: str) -> str:
    """An owner's words in an exported table: what a spreadsheet would run as a formula gets an apostrophe before it.

    A number stays a number, '-1' and '+2.5' included.
    """
    text = printable(text)
    if not text.lstrip().startswith(("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")):
        return text
    try:
        float(text)
    except ValueError:
        return "'" + text
    return text


def say(text: str, file=None) -> None:
    """Print to a terminal or a pipe, at once; CaseError where the output takes no more, such as a full disk."""
    stream = sys.stdout if file is None else file
    try:
        print(printable(text), file=stream, flush=True)
    except BrokenPipeError:  # the reader of a pipe, such as `head`, had enough
        raise
    except OSError as e:
        if stream is sys.stderr:
            return  # nowhere is left to say it
        discard(stream)
        raise CaseError(f"the text could not be written to the output: {e.strerror}") from None


def discard(stream) -> None:
    """What a stream still holds goes nowhere: the end of the program would try to write it once more."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
