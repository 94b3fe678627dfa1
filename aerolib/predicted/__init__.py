"""What wing, flaps and devices should give, before anybody measures."""
