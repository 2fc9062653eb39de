"""What went into a table, frozen as text, and thawed to fit it once more.

The text holds every point of the fit with its value and number, the groups, the
type's scaling and all choices, so that a table can be worked out again after the
store has moved on.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, fields, replace
from datetime import UTC, date, datetime
from typing import Any, Final

from fleetcal.errors import MalformedFileError
from fleetcal.fleet.fewest import FEWEST_AIRCRAFT
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_record import canonical_json
from fleetcal.records import BudgetTerm
from fleetcal.services.curves.fitted_group import FittedGroup
from fleetcal.services.curves.group_name import GroupName, Member
from fleetcal.services.curves.pool_members import AirframeLeftOut, Pool
from fleetcal.services.curves.pooled_curve import CurveRequest, fit_pool
from fleetcal.services.curves.pooled_point import fleet_points
from fleetcal.services.curves.position_error import (
    POSITION_ERROR,
    CorrectionScale,
    points_flown,
    pooled_points,
    stored_points,
)
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.services.handbook.limit_sources import StatedLimit
from fleetcal.store import StaticSourceDescription, StoredPoint, TypeDescription
from fleetcal.store.term_owners import owner_of_older

#: Rises when the text changes its meaning.
FORMAT_VERSION: Final = 2
#: The first kept of a term only whether its sortie shares it.
_READ: Final = (1, FORMAT_VERSION)
#: What is kept of a point: all that a fit or a comparison of issues needs.
KEPT: Final = (
    "point_id",
    "sortie_id",
    "airframe",
    "static_source",
    "engine",
    "propeller",
    "flown_on",
    "technique",
    "flap_setting",
    "weight_kg",
    "vic_kt",
    "pressure_altitude_ft",
    "kappa",
    "u_kappa",
    "dvpc_kt",
    "u_dvpc_kt",
    "dhpc_ft",
    "u_dhpc_ft",
)
_TEXT: Final = ("pitot", "source_name", "track_reference", "reason")
_LONG_AGO: Final = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, kw_only=True)
class KeptInputs:
    """What went into a table.

    Attributes:
        fitted: Fitted anew from the kept points.
        left_out: Sentences on what was left out, then.
        points: Kept points by number, each as a tuple of its values and its shared terms.
        choices: Everything that was chosen, by name.
        limits: Limits of the type, then; none in issues of older versions.
    """

    fitted: FittedGroup
    form: TableForm
    made_on: date
    left_out: tuple[str, ...]
    points: dict[int, tuple[Any, ...]]
    choices: dict[str, Any]
    limits: tuple[StatedLimit, ...]


def freeze_inputs(
    fitted: FittedGroup,
    form: TableForm,
    made_on: date,
    left_out: tuple[str, ...],
    limits: tuple[StatedLimit, ...] = (),
) -> str:
    """Return everything that a table follows from.

    Returns:
        Canonical JSON: the same inputs give the same text.
    """
    known = fitted.known
    kind = {f.name: getattr(known.type, f.name) for f in fields(known.type)}
    kind["static_sources"] = [[s.name, s.description] for s in known.type.static_sources]
    return canonical_json(
        {
            "format_version": FORMAT_VERSION,
            "request": _kept_request(fitted.request),
            "weight_kg": fitted.weight_kg,
            "form": asdict(form),
            "made_on": made_on.isoformat(),
            "type": kind,
            "groups": [[g.static_source, g.engine, g.propeller] for g in known.groups],
            "group": fitted.number,
            "members": [[m.airframe, known.groups.index(m.group)] for m in known.members],
            "too_small": list(known.too_small),
            "left_out": list(left_out),
            "airframes_left_out": [_left_out(one) for one in fitted.pool.left_out],
            "kept_although_outside": fitted.pool.kept,
            "limits": [asdict(limit) for limit in limits],
            "columns": [*KEPT, "member", "terms"],
            "points": [
                [*_values(row), int(member), [[t.name, t.u_kappa, t.owner] for t in row.terms]]
                for row, member in zip(
                    stored_points(known.rows), known.points.aircraft, strict=True
                )
            ],
        }
    )


def _values(row: StoredPoint) -> list[Any]:
    values = [getattr(row, name) for name in KEPT]
    return [value.isoformat() if isinstance(value, date) else value for value in values]


def _left_out(one: AirframeLeftOut) -> dict[str, Any]:
    """Return who is not in the pool under the names that older issues have."""
    return {
        "airframe": one.airframe,
        "group": one.group,
        "points": one.points,
        "outside": one.outside,
        "departure_kt": one.departure,
        "at_ias_kt": one.at_speed_kt,
        "reason": one.reason,
    }


def _left_out_again(kept: dict[str, Any]) -> AirframeLeftOut:
    kept = dict(kept)
    departure, at_speed_kt = kept.pop("departure_kt"), kept.pop("at_ias_kt")
    return AirframeLeftOut(
        **kept, quantity=POSITION_ERROR, departure=departure, at_speed_kt=at_speed_kt
    )


def thaw_inputs(text: str) -> KeptInputs:
    """Return what a text keeps, fitted once more.

    Args:
        text: From `freeze_inputs`.

    Raises:
        MalformedFileError: If the text keeps no inputs that this program understands.
        FitError: If the points can no longer be fitted.
    """
    try:
        content = json.loads(text)
        if content["format_version"] not in _READ:
            raise ValueError("another version")
        known = _known(content)
        request = _request(content["request"])
        pool = _pool(content, known)
        form, made_on = TableForm(**content["form"]), date.fromisoformat(content["made_on"])
        number, weight = int(content["group"]), float(content["weight_kg"])
        left_out = tuple(str(sentence) for sentence in content["left_out"])
        limits = tuple(_limit(values) for values in content.get("limits", ()))
        points = {row[0]: (*row[:-2], *map(tuple, row[-1])) for row in content["points"]}
    except (ValueError, TypeError, KeyError, IndexError, AttributeError) as error:
        raise MalformedFileError(
            f"what is kept of an issue's inputs cannot be read: {type(error).__name__}",
            "a newer program may have written it; nothing was changed",
        ) from error
    # doubts about the model are found anew with the fit
    fitted = fit_pool(replace(request, weight_kg=weight), pool, known.groups[number])
    choices = {**asdict(request), **content["form"], "weight_kg": weight}
    return KeptInputs(
        fitted=fitted,
        form=form,
        made_on=made_on,
        left_out=left_out,
        points=points,
        choices=choices,
        limits=limits,
    )


def _limit(values: dict[str, Any]) -> StatedLimit:
    return StatedLimit(**{**values, "also_cas_kt": tuple(values["also_cas_kt"])})


def _kept_request(request: CurveRequest) -> dict[str, Any]:
    """Return what was chosen; how many airframes a line needs is the same for all issues."""
    return {name: value for name, value in asdict(request).items() if name != "fewest"}


def _request(kept: dict[str, Any]) -> CurveRequest:
    choices: dict[str, Any] = {
        name: tuple(value) if isinstance(value, list) else value for name, value in kept.items()
    }
    return CurveRequest(**choices, fewest=FEWEST_AIRCRAFT)


def _pool(content: dict[str, Any], known: TypePoints) -> Pool:
    """Return the pool; issues of older versions kept every airframe in it."""
    left_out = tuple(_left_out_again(one) for one in content.get("airframes_left_out", ()))
    kept = tuple((group, words) for group, words in content.get("kept_although_outside", ()))
    return Pool(known, left_out, kept)


def _known(content: dict[str, Any]) -> TypePoints:
    sources = tuple(
        StaticSourceDescription(*source) for source in content["type"]["static_sources"]
    )
    kind = TypeDescription(**{**content["type"], "static_sources": sources})
    groups = tuple(GroupName(*names) for names in content["groups"])
    members = tuple(Member(tag, groups[group]) for tag, group in content["members"])
    rows = pooled_points(kind, [_row(values, kind.name) for values in content["points"]])
    points = fleet_points(
        rows,
        [int(values[-2]) for values in content["points"]],
        [int(group) for _, group in content["members"]],
    )
    flap_setting = content["request"]["flap_setting"]
    return TypePoints(
        quantity=POSITION_ERROR,
        scale=CorrectionScale(kind.scaling_speed_kt),
        flown=points_flown(flap_setting),
        type=kind,
        flap_setting=flap_setting,
        groups=groups,
        members=members,
        points=points,
        rows=tuple(rows),
        too_small=tuple(content["too_small"]),
    )


def _row(values: list[Any], type_name: str) -> StoredPoint:
    kept = dict(zip(KEPT, values, strict=False))
    kept["flown_on"] = date.fromisoformat(kept["flown_on"])
    open_fields = {
        f.name: "" if f.name in _TEXT else None
        for f in fields(StoredPoint)
        if f.name not in kept and f.default is f.default_factory
    }
    made = {
        **open_fields,
        **kept,
        "type": type_name,
        "number": 1,
        "accepted": True,
        "decided_at": _LONG_AGO,
        "terms": tuple(_term(*term) for term in values[-1]),
    }
    return StoredPoint(**made)


def _term(name: str, u_kappa: float, owner: str | bool) -> BudgetTerm:
    """Return a term; older issues kept only whether the sortie shares it."""
    known = owner_of_older(name, owner) if isinstance(owner, bool) else owner
    return BudgetTerm(name=name, u_kappa=u_kappa, owner=known, kind="B", note="")
