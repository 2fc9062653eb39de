"""Stores on engines of several machines, whose leading one is killed under eight writers."""
