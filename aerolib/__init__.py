"""What a light airplane's wing does, from what its owner measured.

Every estimate is one function with a plain name; heavy libraries are imported when a function needs them, and the
functions themselves when they are first asked for.
"""

__version__ = "0.2.0"
__all__ = ["ErrorSizes", "SpeedCorrection", "Thrust", "compare", "reduce_stalls"]
_ROOMS = {"SpeedCorrection": "measured.airspeed", "compare": "measured.comparison"}


def __getattr__(name):
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f"{__name__}.{_ROOMS.get(name, 'measured.stalls')}"), name)
