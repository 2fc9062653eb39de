"""Handbook tables and speeds against the port that is fitted."""
