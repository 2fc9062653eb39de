"""The description of a fleet: types, airframes, and what was fitted when."""
