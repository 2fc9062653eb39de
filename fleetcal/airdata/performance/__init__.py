"""Climb and glide: rates brought to standard conditions, curves, and the best speeds on them."""
