"""Stores given to each other: one file out, one file in."""
