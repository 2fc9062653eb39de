"""Describe a fleet anew, and remember what that replaced."""

from __future__ import annotations

from dataclasses import replace

from sqlalchemy.orm import Session

from fleetcal.store.cruise_rows import load_cruise_tables
from fleetcal.store.description import FleetDescription, SaveCounts
from fleetcal.store.exchange.collect_entries import described
from fleetcal.store.exchange.correct_weight import supposed_weights_follow
from fleetcal.store.exchange.entries import Entries
from fleetcal.store.exchange.keep_replaced import keep_replaced
from fleetcal.store.fleet_lookup import load_description
from fleetcal.store.fleet_rows import save_description


def revise_description(session: Session, description: FleetDescription) -> SaveCounts:
    """Save a description like `save_description`, and keep what it replaces.

    Flights whose weight was supposed follow the reference weight of their type.

    Args:
        session: Of a writing transaction.

    Raises:
        DataError: As `save_description` does.
    """
    before = _described(session, description)
    counts = save_description(session, description)
    if counts.changed:
        supposed_weights_follow(session)
        keep_replaced(session, before, _described(session, description))
    return counts


def _described(session: Session, description: FleetDescription) -> Entries:
    """Return what is described in the store; cruise tables only if they can change."""
    tables = load_cruise_tables(session) if description.cruise_tables else ()
    return described(replace(load_description(session), cruise_tables=tables))
