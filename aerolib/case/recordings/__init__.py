"""Recordings of a case: files of several kinds read into channels, and stalls accepted from them as rows."""

from aerolib.case.recordings.logs import FOLDER, corrections_of, load_log, log_of, read_log
from aerolib.case.recordings.rows import Accepted, below_scale, from_file, with_rows

__all__ = ["FOLDER", "Accepted", "below_scale", "corrections_of", "from_file", "load_log", "log_of", "read_log",
           "with_rows"]  # fmt: skip
