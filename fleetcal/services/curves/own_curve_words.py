"""What the own curve of an airframe, or the curve of one or two airframes, rests on, in words."""

from __future__ import annotations

from collections.abc import Sequence

from fleetcal.fleet.own_curve import AircraftCurve
from fleetcal.fleet.port_prior import PortPrior
from fleetcal.services.curves.few_of_group import ANY_PORT
from fleetcal.services.curves.fit_airframe import OwnFit
from fleetcal.services.curves.fitted_group import AirframeOf, FittedGroup
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.services.curves.usual_spread import UsualSpread
from fleetcal.wording import counted, decimal

_KT_PER_KAPPA = 50.0


def rests_on(fitted: FittedGroup) -> tuple[str, ...]:
    """Say what a curve rests on; nothing of a group that is large enough to be pooled."""
    if fitted.airframe is None:
        return () if fitted.check else (_few_words(fitted),)
    return (_own_words(fitted.airframe, fitted.known.rows),)


def _own_words(airframe: AirframeOf, own: Sequence[PooledPoint]) -> str:
    others = counted(airframe.others, "other airframe")
    if not own:
        return (
            f"{airframe.tag} has no points of its own yet: this is what {others} of "
            f"{airframe.group} say of one more aircraft"
        )
    flights = counted(len({row.sortie_id for row in own}), "flight")
    sentence = f"From {counted(len(own), 'point')} of {flights} of {airframe.tag} itself"
    alone = f"{sentence}, and from nothing else"
    if airframe.group is None:
        return f"{alone}: no other airframe has flown this static source"
    if airframe.outside:
        return (
            f"{alone}: it stands outside its group, {airframe.group}, which therefore says "
            "nothing of it"
        )
    if not airframe.others:
        return sentence
    return f"{sentence}, joined with those of {others} of {airframe.group}"


def own_doubts(fitted: FittedGroup) -> tuple[str, ...]:
    """Say what speaks against an airframe's own curve."""
    if not isinstance(fitted.fit, OwnFit) or fitted.fit.curve.scatter == 1.0:
        return ()
    return (
        f"the points scatter {decimal(fitted.fit.curve.scatter, 1)} times more about the curve "
        "than their stated uncertainties, and the band was made wider by that. Look for bad legs",
    )


def own_model_words(curve: AircraftCurve, fitted: FittedGroup) -> str:
    """Return the model of an own curve."""
    airframe = fitted.airframe
    if airframe is None or airframe.group is None or airframe.outside:
        before = f"known beforehand as any port is: {_port_words(ANY_PORT)}"
    else:
        before = "known beforehand as one more of its group, at every spread between airframes"
    return (
        f"kappa a {('constant', 'straight line', 'quadratic')[curve.order]} in (Vs/Viw)^2 "
        f"and a random walk over the logarithm of speed, {before}; its own points joined by "
        "generalised least squares with the covariance of their errors; the indicator's own error "
        f"is part of the curve; variances of the points times {curve.scatter**2:.2f}"
    )


def few_model_words(fitted: FittedGroup) -> str:
    """Return the model of a group of one or two airframes."""
    usual = fitted.known.usual or UsualSpread()
    return (
        f"kappa a quadratic in (Vs/Viw)^2 and a random walk over the logarithm of speed, known "
        f"beforehand as any port is: {_port_words(ANY_PORT)}; "
        f"{usual.words(1, len(fitted.known.members))}"
    )


def _few_words(fitted: FittedGroup) -> str:
    usual = fitted.known.usual or UsualSpread()
    many = counted(len(fitted.known.members), "airframe")
    return (
        f"From {many} only: how much airframes differ is supposed, "
        f"{decimal(usual.kt, 1)} kt at 100 kt (standard deviation). Three airframes make a group"
    )


def _port_words(ports: PortPrior) -> str:
    return (
        f"no error at 100 kt, give or take {decimal(_KT_PER_KAPPA * ports.level, 0)} kt (standard "
        f"deviation); {decimal(_KT_PER_KAPPA * ports.tilt * 0.25, 0)} kt of it more or less at "
        f"half the lift; {decimal(_KT_PER_KAPPA * ports.beyond, 1)} kt off any quadratic"
    )
