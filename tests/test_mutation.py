"""Faults that are put into the program are the ones meant, and nothing else changes."""

from __future__ import annotations

from tests.mutation.mutants import mutants

SOURCE = '''
"""A docstring of 3 words."""
from typing import Final
LIMIT: Final[int] = 3
def slower(speed: float, flown: bool = True) -> bool:
    """Say so."""
    print(f"{speed + 1.0:.1f}")
    return (
        flown and
        not speed >= LIMIT * 2.0
    )
'''


def test_every_kind_of_fault_is_put_in_and_nothing_for_readers_is_touched() -> None:
    source = SOURCE.encode()
    made = {one.applied(source).decode() for one in mutants(source)}
    changes = {
        (old.strip(), new.strip())
        for each in made
        for old, new in zip(SOURCE.split("\n"), each.split("\n"), strict=False)
        if old != new and "return" not in old
    }
    assert ("LIMIT: Final[int] = 3", "LIMIT: Final[int] = (4)") in changes
    assert ('print(f"{speed + 1.0:.1f}")', "pass") in changes
    assert ("not speed >= LIMIT * 2.0", "not (speed > LIMIT * 2.0)") in changes
    assert ("not speed >= LIMIT * 2.0", "not speed >= (LIMIT / 2.0)") in changes
    assert ("not speed >= LIMIT * 2.0", "not speed >= LIMIT * (2.2)") in changes
    assert ("not speed >= LIMIT * 2.0", "(speed >= LIMIT * 2.0)") in changes
    assert any("return None" in each for each in made)
    assert any("(flown or not speed >= LIMIT * 2.0)" in each for each in made)
    assert any("flown: bool = (False)" in each for each in made)
    assert len(made) == 9
    assert all('"""A docstring of 3 words."""' in each for each in made)


def test_a_fault_is_known_by_the_first_line_of_its_statement() -> None:
    places = {(one.line, one.statement) for one in mutants(SOURCE.encode())}
    assert (10, 8) in places
    assert (4, 4) in places
