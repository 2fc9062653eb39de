"""Stored points: listed, decided on, explained, taken in and given out."""
