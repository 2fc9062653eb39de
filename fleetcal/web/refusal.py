"""What could not be done, in the words of a page."""

from __future__ import annotations

from collections.abc import Mapping

from fleetcal.errors import FleetcalError
from fleetcal.plain_text import sentence
from fleetcal.services.flights.page_words import on_a_page
from fleetcal.web.fields import FieldsError


def refusal(error: FleetcalError | None) -> list[str]:
    """Return what could not be done and what to do about it, as sentences."""
    words = (error.message, error.hint) if error is not None else ()
    return [sentence(on_a_page(one)) for one in words if one]


def wrong_fields(error: FleetcalError | None) -> Mapping[str, str]:
    """Return what is wrong with fields of a form, by their names."""
    return error.fields if isinstance(error, FieldsError) else {}
