"""Techniques other than GPS legs that give the same kind of calibration point.

Each module turns the readings of one technique into kappa by exact relations
and carries every input's uncertainty into it, term by term. Common to all: what
was read in the aircraft under test (`cockpit`), the propagation (`propagation`)
and the point that follows (`technique_point`).
"""
