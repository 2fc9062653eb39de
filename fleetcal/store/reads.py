"""One reading of a store, which goes on where its connection to a server is lost.

A reading sees one state. A new connection may see another, unless the newest link of the history
is still the same: then nothing was changed meanwhile, the statement is asked again, within the
time for which a server is waited for, and whoever reads notices nothing. Rows that were loaded
are loaded again. Where something was changed, only a reading that was answered nothing as yet
goes on; of any other it is said that it has to be done again. What is lost halfway through the
rows of one statement is not asked again, as somebody has the first of them already, nor what is
asked of the connection itself.

It costs a reading on a server one short statement, 0.4 ms of a processor, and one of a file
nothing: no connection to it is lost.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any, TypeVar

from sqlalchemy import Engine, inspect
from sqlalchemy.orm import Session

from fleetcal.errors import StoreError
from fleetcal.store.again import again, passing
from fleetcal.store.engines.kinds import Passing, kind_of
from fleetcal.store.history_chain import newest_link

Answer = TypeVar("Answer")


class Reading(Session):
    """A session that reads one state and writes nothing.

    Args:
        engine: Whose transactions see one state and cannot write.
        label: How the store is called in messages.
        longest_s: How long a server is waited for that does not answer.
        recorded: Whether the store has a history that tells of every change.
    """

    def __init__(self, engine: Engine, label: str, *, longest_s: float, recorded: bool) -> None:
        super().__init__(engine, expire_on_commit=False)
        self._label, self._longest_s = label, longest_s
        self._can_go_on = recorded and not kind_of(engine).is_file
        self._is_answered = self._goes_on = False
        self._link: tuple[int, str] | None = None

    def begun(self) -> Reading:
        """Begin now, so that a server is waited for here and not halfway."""
        try:
            connection = self.connection()
            if self._can_go_on:
                self._link = newest_link(connection)
        except BaseException:
            self.close()
            raise
        return self

    def execute(self, *words: Any, **named: Any) -> Any:
        """Ask; as `Session.execute`."""
        return self._ask(partial(super().execute, *words, **named))

    def scalar(self, *words: Any, **named: Any) -> Any:
        """Ask for one value; as `Session.scalar`."""
        return self._ask(partial(super().scalar, *words, **named))

    def scalars(self, *words: Any, **named: Any) -> Any:
        """Ask for values; as `Session.scalars`."""
        return self._ask(partial(super().scalars, *words, **named))

    def _ask(self, ask: Callable[[], Answer]) -> Answer:
        try:
            answer = ask()
        except Exception as error:
            is_lost = passing(error) is Passing.AWAY
            if not is_lost or not self._can_go_on or self._goes_on:
                raise
            answer = self._ask_anew(ask)
        self._is_answered = True
        return answer

    def _ask_anew(self, ask: Callable[[], Answer]) -> Answer:
        loaded = {row: _names_loaded(row) for row in self.identity_map.values()}
        self._goes_on = True
        try:
            action = partial(self._on_a_new_connection, loaded, ask)
            return again(action, label=self._label, longest_s=self._longest_s)
        finally:
            self._goes_on = False

    def _on_a_new_connection(
        self, loaded: dict[Any, set[str]], ask: Callable[[], Answer]
    ) -> Answer:
        self.rollback()  # which forgets what was loaded
        link = newest_link(self.connection())
        if self._is_answered and link != self._link:
            raise StoreError(
                f"{self._label} was changed while it was being read, and the connection was lost",
                "run the command again",
            )
        self._link = link
        for row, names in loaded.items():
            self.refresh(row, names)
        return ask()


def _names_loaded(row: Any) -> set[str]:
    state = inspect(row)
    return set(state.dict) & set(state.mapper.attrs.keys())
