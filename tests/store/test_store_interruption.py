"""An interruption that a driver stumbles over stays an interruption."""

from __future__ import annotations

import sqlite3

import pytest
from sqlalchemy.exc import DBAPIError

from fleetcal.errors import StoreError
from fleetcal.store.explained import explained


def stumble(error: Exception) -> None:
    """Raise a driver's error while an interruption is under way."""
    try:
        raise KeyboardInterrupt
    except KeyboardInterrupt:
        raise error  # noqa: B904 - as drivers do it: only the context tells


@pytest.mark.parametrize(
    "error",
    [sqlite3.OperationalError("interrupted"), DBAPIError("SELECT 1", None, ValueError("ACTIVE"))],
)
def test_the_interruption_goes_on_and_not_what_it_made_of_the_driver(error: Exception) -> None:
    with pytest.raises(KeyboardInterrupt), explained("the store"):
        stumble(error)


def test_an_error_without_an_interruption_is_explained() -> None:
    with pytest.raises(StoreError), explained("the store"):
        raise sqlite3.OperationalError("interrupted")
