"""Pictures: what a result shows, as fixed-size PNGs with words."""
