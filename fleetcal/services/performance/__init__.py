"""Climbs and glides: measured in a log, kept, pooled; and the plan of the next flight."""
