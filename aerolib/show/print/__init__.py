"""Pages to print at true scale."""
