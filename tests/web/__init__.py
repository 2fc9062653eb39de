"""Tests of the served pages."""
