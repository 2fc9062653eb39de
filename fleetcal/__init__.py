"""Position error of a light aircraft type, from recorded flights to a pooled table."""

__version__ = "0.2.0"
