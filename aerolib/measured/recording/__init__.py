"""A recording of a flight, and the stalls in it."""

from aerolib.measured.recording.channels import Channel, Corrections, Recording, channel
from aerolib.measured.recording.ground import airspeed_from_ground
from aerolib.measured.recording.stalls import find_stalls, measure_at

__all__ = ["Channel", "Corrections", "Recording", "airspeed_from_ground", "channel", "find_stalls", "measure_at"]
