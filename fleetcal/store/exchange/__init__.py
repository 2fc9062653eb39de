"""Stores as entries with keys: taken out, merged by rule, put into another store."""
