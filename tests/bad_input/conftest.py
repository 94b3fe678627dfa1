"""The small case for the tests of this folder."""

import pytest
from cards import AIRCRAFT, STALLS


@pytest.fixture
def small(write_case):
    """`write_case`, with the small case for whatever is not given."""
    return lambda aircraft=AIRCRAFT, stalls=STALLS, name="case": write_case(aircraft, stalls, name)
