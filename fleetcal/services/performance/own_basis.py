"""What the plan of an airframe rests on that has no large group, or has never been flown."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.fleet.foreseen_own import ForeseenOwn
from fleetcal.services.curves.fit_airframe import KnownOfAirframe, OwnFit, known_of_airframe
from fleetcal.services.curves.fitted_group import CurveRequest, FittedGroup
from fleetcal.services.curves.speed_grid import REACH_KT, lift_at
from fleetcal.services.handbook.carried_limits import limits_on_port, usable_kt
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.services.handbook.limit_sources import NEVER_EXCEED
from fleetcal.services.performance.permitted_speeds import own_speeds, slowest_on_port
from fleetcal.services.performance.plan_basis import PlanBasis
from fleetcal.services.performance.plan_values import PlanRequest
from fleetcal.services.performance.usual_test_flight import usual_of_airframe
from fleetcal.store import AirframeDescription, Store, load_description
from fleetcal.store.undescribed import is_undescribed


@dataclass(frozen=True, kw_only=True)
class OwnBasis:
    """What a plan rests on, with the points that it was made of.

    Attributes:
        notes: What the reader has to know of it.
    """

    basis: PlanBasis
    found: KnownOfAirframe
    notes: tuple[str, ...]

    @property
    def called(self) -> str:
        """The static source, engine and propeller, as far as they were described."""
        name = self.found.name
        parts = [name.static_source, name.engine, name.propeller]
        known = [part for part in parts if part and not is_undescribed(part)]
        return " / ".join(known) or "static source not described yet"


def own_basis(
    store: Store, airframe: AirframeDescription, flaps: str, request: PlanRequest
) -> OwnBasis:
    """Return what is known of an airframe's own curve, and the speeds that may be flown.

    Raises:
        DataError: If nothing is fitted to it, or no speed may be proposed.
    """
    curve = CurveRequest(
        group=airframe.tag,
        type=airframe.type,
        flap_setting=flaps,
        weight_kg=request.weight_kg,
    )
    found = known_of_airframe(store, curve, airframe.tag)
    fitted = found.fitted()
    with store.lookup() as reader:
        handbooks = load_description(reader).handbooks
    port = FittedPort(fitted)  # for both, as its bands take long
    limits = limits_on_port(port, handbooks)
    slowest = slowest_on_port(port, handbooks, found.name.static_source)
    flown = [row.speed_at(fitted.weight_kg) for row in fitted.rows]
    speeds = own_speeds(
        fitted.known,
        flown,
        limits=limits,
        slowest_kt=slowest,
        rough_air=request.rough_air,
        fastest_kt=request.fastest_kt,
    )
    x = lift_at(fitted.known.type, speeds, fitted.weight_kg)
    usual, lasting = usual_of_airframe(found.rows, found.read.points)
    basis = PlanBasis(
        known=fitted.known,
        fit=None,
        group=0,
        place=0 if found.rows else None,
        speeds=speeds,
        weight_kg=fitted.weight_kg,
        limits=limits,
        slowest_kt=slowest,
        usual=usual,
        own=foreseen_from(fitted, x, lasting),
        flown=bool(fitted.rows),
    )
    notes = _notes(found, flown, float(speeds[-1]))
    if request.fastest_kt is None and usable_kt(limits, NEVER_EXCEED) is None:
        notes += (
            "no never-exceed speed is known, so these speeds end 10 kt beyond the fastest flown, "
            "and move on with it: end them with --fastest-kt, such as what level flight reaches",
        )
    return OwnBasis(basis=basis, found=found, notes=notes)


def foreseen_from(fitted: FittedGroup, x: np.ndarray, lasting: np.ndarray) -> ForeseenOwn:
    """Return an airframe's own curve, to which flights to come can be added."""
    assert isinstance(fitted.fit, OwnFit)
    return ForeseenOwn(curve=fitted.fit.curve, x=x, lasting=lasting)


def _notes(found: KnownOfAirframe, flown: list[float], fastest_kt: float) -> tuple[str, ...]:
    tag, others = found.request.group, found.others
    notes = []
    if not found.rows and others.group is None:
        notes.append(
            f"{tag} has no points with flaps {found.request.flap_setting} yet, so its static "
            "source is taken to be as any may be; the first flight tells most"
        )
    elif not found.rows:
        notes.append(f"{tag} has no accepted point yet")
    if not flown or fastest_kt > max(flown) + REACH_KT:
        so_far = f"nothing was flown with flaps {found.request.flap_setting} yet"
        if flown:
            so_far = f"no point lies above {max(flown):.0f} kt yet"
        notes.append(
            f"{so_far}. Opening the range of speeds is a matter of the approved flight test "
            "programme and not of this plan: fly only what that has opened; --fastest-kt keeps "
            "the plan within it"
        )
    return tuple(notes)
