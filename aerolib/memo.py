"""What was computed once is kept: a bounded memory keyed by a function and the content of its arguments.

A study that differs from another in one input asks for the same functions again; those whose arguments did not change
are answered from here. The counts say what was computed, how often.
"""

from __future__ import annotations

import dataclasses
import hashlib
from collections import Counter, OrderedDict
from collections.abc import Callable, Mapping
from typing import TypeVar

import numpy as np

T = TypeVar("T")
KEPT = 512  # results; a session on one airplane asks for some hundred


class Memo:
    """Results by (function, content of its arguments), the least recently used forgotten first."""

    def __init__(self, kept: int = KEPT):
        self.kept = kept
        self.results: OrderedDict[tuple[str, str], object] = OrderedDict()
        self.computed: Counter[str] = Counter()  # by function: how often it ran

    def __call__(self, function: Callable[..., T], *arguments, **named) -> T:
        """The function's result for these arguments, computed at most once.

        Parameters
        ----------
        function : callable [-]
            Pure: the same arguments, the same result.
        arguments, named : any [-]
            Plain values, arrays, records, or functions named at the top of a module.

        Returns
        -------
        what the function returns [-]
        """
        name = f"{function.__module__}.{function.__qualname__}"
        key = (name, digest((arguments, sorted(named.items()))))
        if key in self.results:
            self.results.move_to_end(key)
        else:
            result = function(*arguments, **named)  # an exception is not kept: the next asker sees it too
            self.computed[name] += 1
            self.results[key] = result
            if len(self.results) > self.kept:
                self.results.popitem(last=False)
        return self.results[key]  # type: ignore[return-value]


MEMO = Memo()  # serves all studies of a session


def digest(value: object) -> str:
    """One digest of the content of a value [-]: equal content, equal digest, whoever built it."""
    h = hashlib.blake2b(digest_size=16)
    _feed(h.update, value)
    return h.hexdigest()


def _feed(put, value) -> None:
    """The type goes in with the content: 1, 1.0, True and '1' are four things."""
    put(type(value).__name__.encode() + b"\0")
    if isinstance(value, np.ndarray):
        put(f"{value.dtype}{value.shape}".encode())
        put(np.ascontiguousarray(value).tobytes() if value.dtype != object else repr(value.tolist()).encode())
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        for f in dataclasses.fields(value):
            put(f.name.encode())
            _feed(put, getattr(value, f.name))
    elif isinstance(value, Mapping):
        put(str(len(value)).encode())
        for k, v in value.items():
            _feed(put, k)
            _feed(put, v)
    elif isinstance(value, tuple | list | set | frozenset):
        put(str(len(value)).encode())
        for v in sorted(value, key=repr) if isinstance(value, set | frozenset) else value:
            _feed(put, v)
    elif callable(value):
        put(f"{getattr(value, '__module__', '')}.{getattr(value, '__qualname__', repr(value))}".encode())
    elif hasattr(value, "model_dump"):  # a record read from a file
        _feed(put, value.model_dump())
    else:
        put(repr(value).encode() + b"\0")
