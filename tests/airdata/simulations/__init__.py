"""Simulated runs and turns with known truth: efficiency and coverage of the solves."""
