"""Stores as things with keys: taken out, merged by rule, put into another store."""
