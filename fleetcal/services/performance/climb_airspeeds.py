"""CAS of climbs and glides, by the pooled curve of the port each was flown with."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import replace

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import FitError
from fleetcal.services.curves.fitted_group import FittedGroup
from fleetcal.services.curves.pooled_curve import CurveRequest, fit_group
from fleetcal.services.curves.speed_grid import speed_correction_kt
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.store import Store, StoredClimb, TypeDescription

#: How the curve of a port or an airframe is found, where many are asked for one after the other.
_FITS: ContextVar[Callable[[CurveRequest], FittedGroup] | None] = ContextVar("fits", default=None)


@contextmanager
def fits_by(find: Callable[[CurveRequest], FittedGroup]) -> Iterator[None]:
    """Find curves of position error by a function that keeps them, as `fit_group` would."""
    before = _FITS.set(find)
    try:
        yield
    finally:
        _FITS.reset(before)


def _fitted(store: Store, request: CurveRequest) -> FittedGroup:
    find = _FITS.get()
    return fit_group(store, request) if find is None else find(request)


def fitted_ports(
    store: Store,
    kind: TypeDescription,
    flap_setting: str,
    sources: set[str],
    airframe: str | None = None,
) -> tuple[dict[str, FittedPort | None], list[str]]:
    """Return the fitted curve of each port, and what has none.

    Args:
        sources: Static sources.
        airframe: Whose own curve stands for the static source that it carries last.

    Returns:
        By static source the curve, or None where CAS is taken as IAS; and sentences on those.
    """
    ports: dict[str, FittedPort | None] = {}
    missing = []
    for source in sorted(sources):
        try:
            ports[source] = _port(store, kind, flap_setting, source, airframe)
        except FitError as error:
            ports[source] = None
            missing.append(f"CAS is taken as IAS for {source}: {error.message}")
    return ports, missing


def _port(
    store: Store, kind: TypeDescription, flap_setting: str, source: str, airframe: str | None
) -> FittedPort:
    """Return the curve of a static source, or of an airframe that carries it."""
    request = CurveRequest(group=source, type=kind.name, flap_setting=flap_setting)
    if airframe is not None:
        own = _fitted(store, replace(request, group=airframe))
        if own.name.static_source == source:
            return FittedPort(own)
    return FittedPort(_fitted(store, request))


def calibrated_kt(ports: Mapping[str, FittedPort | None], rows: Sequence[StoredClimb]) -> Array:
    """Return the CAS of climbs or glides.

    Args:
        ports: From `fitted_ports`, with every static source of the rows.

    Returns:
        Shape (rows,): kt; NaN where nobody flew the port's curve.
    """
    return np.array([_calibrated(ports[row.static_source], row) for row in rows], dtype=np.float64)


def _calibrated(port: FittedPort | None, row: StoredClimb) -> float:
    """Return CAS by the port's curve at the lift flown; NaN where nobody flew the curve."""
    if port is None:
        return row.vic_kt
    at_weight = row.vic_kt * float(np.sqrt(port.fitted.weight_kg / row.weight_kg))
    if not port.flown(at_weight):
        return float("nan")
    kappa = port.kappa(np.array([at_weight]))
    return row.vic_kt + float(speed_correction_kt(np.array([row.vic_kt]), kappa)[0])
