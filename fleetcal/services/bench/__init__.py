"""Bench checks and leak checks, and what they make of a reading."""
