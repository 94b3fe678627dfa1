"""JupyterLab as `aerolib open` runs it: `python -P -m aerolib.show.serving ARGUMENTS`, ended by the end of its input.

Whatever ends the parent, killing it included, closes the pipe that this process has as its standard input.
"""

import os
import signal
import sys
import threading


def main() -> int:
    """Serve until the server is shut down from the browser, or standard input ends."""
    threading.Thread(target=_end_with_the_parent, daemon=True).start()
    from jupyterlab.labapp import main as serve

    return serve()


def _end_with_the_parent() -> None:
    while os.read(0, 1024):
        pass
    os.kill(os.getpid(), signal.SIGTERM)  # the server then ends its kernels


if __name__ == "__main__":
    sys.exit(main())
