"""Shared by the tests of saving: work done in a child that is killed at one of its steps on the disk."""

from __future__ import annotations

import os
import signal
import sys

import pytest

from aerolib.case import saving

POSIX = pytest.mark.skipif(sys.platform == "win32", reason="permissions, links and fork are those of POSIX")
FORKS = pytest.mark.filterwarnings("ignore:.*fork.*:DeprecationWarning")


def names(folder):
    """Everything in a folder, hidden files included."""
    return sorted(p.name for p in folder.iterdir())


def child(work):
    """`work()` in a process of its own; its number."""
    number = os.fork()
    if number:
        return number
    status = 7
    try:
        status = work() or 0
    finally:
        os._exit(status)


def killed_at(steps, after, work):
    """How a child ended that does `work` and is killed at its n-th step on the disk, before it or after."""

    def dying():
        count = 0

        def counted(real):
            def call(*arguments, **named):
                nonlocal count
                count += 1
                if count == steps and not after:
                    os.kill(os.getpid(), signal.SIGKILL)
                out = real(*arguments, **named)
                if count == steps:
                    os.kill(os.getpid(), signal.SIGKILL)
                return out

            return call

        for name in ("fsync", "replace", "rename", "link", "unlink", "mkdir", "rmdir"):
            setattr(os, name, counted(getattr(os, name)))
        real = saving._exchange
        saving._exchange = counted(real)
        work()

    return os.waitpid(child(dying), 0)[1]
