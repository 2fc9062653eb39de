"""How what was kept and not accepted comes to count, for the end of an answer."""

from __future__ import annotations

import shlex

from fleetcal.cli.options import program_words


def accept_words(airframe: str | None, quantity: str = "") -> str:
    """Return the sentence; `quantity` is climb or glide, empty for points."""
    how = ["--quantity", quantity] if quantity else []
    shown = [*program_words(), "points", "list", "--airframe", airframe or "", "--rejected", *how]
    taken = [*program_words(), "points", "accept", "NUMBER", *how]
    return (
        f"What is not accepted is kept and does not count. Numbers: {shlex.join(shown)}; to let "
        f"one count all the same: {shlex.join(taken)}"
    )
