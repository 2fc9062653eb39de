"""Publish the pooled table of a group in any of the formats."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.published_files import FORMATS, publish_table
from fleetcal.publish.table_form import TableForm
from fleetcal.services.curves.pooled_curve import CurveRequest, describe_curve, fit_group
from fleetcal.services.handbook.limit_sources import limits_of_type
from fleetcal.services.publishing.table_of_group import table_of_group
from fleetcal.store import Store


@dataclass(frozen=True)
class Layout:
    """How a table is to be written.

    Attributes:
        direction: ``ias-to-cas`` or ``cas-to-ias``.
        speed_unit: ``kt``, ``mph`` or ``km/h``.
        formats: Keys of `FORMATS`.
        paper: Of PDF and card, ``a4`` or ``letter``.
    """

    direction: str = "ias-to-cas"
    speed_unit: str = "kt"
    formats: Sequence[str] = tuple(FORMATS)
    paper: str = "a4"

    @property
    def form(self) -> TableForm:
        """Direction and unit, checked."""
        return TableForm(self.direction, self.speed_unit)


@dataclass(frozen=True)
class WrittenFile:
    """One file that was written."""

    format: str
    path: str


@dataclass(frozen=True)
class Published:
    """Files written for a group."""

    group: str
    files: tuple[WrittenFile, ...]


def publish_curve(
    store: Store,
    request: CurveRequest,
    folder: Path,
    made_on: date,
    layout: Layout | None = None,
) -> Published:
    """Fit a group and write its table.

    Args:
        folder: Made when missing.
        made_on: Printed on the table.
        layout: Every format, IAS to CAS in knots, A4, when left out.

    Raises:
        FleetcalError: As `pooled_curve`; DataError if a file cannot be written.
    """
    layout = layout or Layout()
    group, table = table_to_publish(store, request, made_on, layout)
    files = publish_table(table, folder, layout.formats, layout.paper)
    return Published(group, tuple(WrittenFile(file.format, str(file.path)) for file in files))


def table_to_publish(
    store: Store, request: CurveRequest, made_on: date, layout: Layout
) -> tuple[str, PooledTable]:
    """Fit a group and return its name and table, as `publish_curve` would write it.

    Raises:
        FleetcalError: As `pooled_curve`.
    """
    fitted = fit_group(store, request)
    table = table_of_group(
        fitted, describe_curve(fitted), made_on, layout.form, limits_of_type(store, fitted)
    )
    return str(fitted.name), table
