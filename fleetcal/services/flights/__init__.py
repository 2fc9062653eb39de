"""Reduce recorded flights: one log or a folder of them, from the file to stored points."""
