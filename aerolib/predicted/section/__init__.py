"""Lift of a wing's section: measured or computed, smooth or rough, as drawn or as built."""

from aerolib.predicted.section.lift import STALL_WORDS, SectionLift, section_lift, stall_type
from aerolib.predicted.section.shapes import Shape, checked_points, shape_of

__all__ = ["STALL_WORDS", "SectionLift", "Shape", "checked_points", "section_lift", "shape_of", "stall_type"]
