"""What a database itself does to keep the history as it was written; see `history_guard`."""

from __future__ import annotations

from typing import ClassVar

from sqlalchemy import Connection


class Guard:
    """That of a database for which no triggers are written: none."""

    #: Whether a link that is added is numbered and hashed by the database.
    links: ClassVar[bool] = False

    def put_up(self, connection: Connection) -> None:
        """Make the triggers that are not there."""

    def take_down(self, connection: Connection) -> None:
        """Remove the triggers."""

    def lift(self, connection: Connection) -> None:
        """Let the history be replaced, until `put_back`."""

    def put_back(self, connection: Connection) -> None:
        """Keep the history again."""

    def missing(self, connection: Connection) -> list[str]:
        """Return the names of the triggers that are not there as they should be."""
        return []


#: Tables that are only added to.
KEPT = ("store_change", "changed_row", "row_state", "history_link")
REFUSAL = "the history is only added to"
