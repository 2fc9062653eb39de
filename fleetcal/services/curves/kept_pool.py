"""What the pool of a type came to when all its airframes were last judged.

Reading and judging a hundred thousand points takes half a minute; what the
verdict on one airframe needs of all the others is one small matrix each. That
is kept in the user's cache folder, with the mark of the store's state it was
made of. It holds nothing that the store does not give again, may be deleted at
any time, and is never taken for more than it is: whoever uses it asks the
store's history what has changed since.

It is beside the store and not in it, because members of a club may read only and two stores
with the same contents must stay equal.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import tempfile
from dataclasses import asdict, dataclass, fields
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final
from zipfile import BadZipFile

import numpy as np
from platformdirs import user_cache_path

from fleetcal.fleet.points import Array, Index
from fleetcal.fleet.standing import Standing
from fleetcal.fleet.sums import AircraftSums
from fleetcal.services.curves.group_name import GroupName, Member
from fleetcal.services.curves.own_findings import OwnFinding
from fleetcal.services.curves.usual_spread import UsualSpread
from fleetcal.store import StateMark, Store
from fleetcal.version import __version__

#: Fewer airframes are judged in less time than it takes to look for what was kept.
FEWEST_WORTH_KEEPING: Final = 100
_LAYOUT: Final = 4


@dataclass(frozen=True, kw_only=True)
class KeptPool:
    """A judged type, as `standing_of_one` needs it.

    Attributes:
        mark: State of the store that it was made of.
        sums: Of the full basis.
        order: Of the curves.
        spread: Shape (k, k).
        bends (groups,): See `PooledFit`.
        usual: What was supposed of the spread.
        adjusted: Shape (members,).
        lines (members, 5): See `line_numbers`.
        tests, sorties (members,): Points and sorties looked at for agreement with their own
            airframe, and sorties flown.
    """

    mark: StateMark
    type: str
    flap_setting: str
    groups: tuple[GroupName, ...]
    members: tuple[Member, ...]
    sums: AircraftSums
    order: int
    spread: Array
    phi: float
    bends: Array
    usual: UsualSpread
    suspects: frozenset[int]
    standings: tuple[Standing, ...]
    adjusted: Array
    lines: Array
    tests: Index
    sorties: Index
    findings: tuple[OwnFinding, ...]


def keep_pool(store: Store, kept: KeptPool) -> None:
    """Keep a judged type; where nothing can be written, nothing is kept."""
    content = io.BytesIO()
    np.savez(content, header=_header(kept), **_arrays(kept))
    path = _place(store, kept.type, kept.flap_setting)
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, temporary = tempfile.mkstemp(dir=path.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(content.getvalue())
        Path(temporary).replace(path)
    except OSError:
        return


def kept_pool(store: Store, kind: str, flap_setting: str) -> KeptPool | None:
    """Return what was kept of a type, None if nothing was or it cannot be read.

    Args:
        kind: Name of the type.
    """
    try:
        content = io.BytesIO(_place(store, kind, flap_setting).read_bytes())
        with np.load(content, allow_pickle=False) as file:
            arrays = {name: file[name] for name in file.files}
        return _from_arrays(json.loads(arrays.pop("header").tobytes()), arrays)
    except (OSError, ValueError, KeyError, TypeError, IndexError, BadZipFile):
        return None  # not there, or from another program: it is only a cache


def _place(store: Store, kind: str, flap_setting: str) -> Path:
    place = store.label if "://" in store.label else str(Path(store.label).absolute())
    names = json.dumps([place, kind, flap_setting, __version__, _LAYOUT])
    folder = user_cache_path("fleetcal", appauthor=False)
    return folder / f"pool-{hashlib.sha256(names.encode()).hexdigest()[:24]}.npz"


def _header(kept: KeptPool) -> Any:
    header = {
        "number": kept.mark.number,
        "made_at": kept.mark.made_at.isoformat(),
        "taken_back": kept.mark.taken_back,
        "type": kept.type,
        "flap_setting": kept.flap_setting,
        "groups": [asdict(group) for group in kept.groups],
        "members": [(one.airframe, kept.groups.index(one.group)) for one in kept.members],
        "order": kept.order,
        "phi": kept.phi,
        "usual": asdict(kept.usual),
        "suspects": sorted(kept.suspects),
        "findings": [asdict(one) for one in kept.findings],
    }
    return np.frombuffer(json.dumps(header, default=date.isoformat).encode(), dtype=np.uint8)


def _arrays(kept: KeptPool) -> dict[str, Any]:
    size = len(kept.spread)
    departure = np.full((len(kept.standings), size), np.nan)
    covariance = np.full((len(kept.standings), size, size), np.nan)
    for i, one in enumerate(kept.standings):
        k = len(one.departure)
        departure[i, :k], covariance[i, :k, :k] = one.departure, one.covariance
    arrays = {f"sums_{f.name}": getattr(kept.sums, f.name) for f in fields(AircraftSums)}
    arrays |= {name: getattr(kept, name) for name in ("adjusted", "lines", "tests", "sorties")}
    return {
        **arrays,
        "spread": kept.spread,
        "bends": kept.bends,
        "departure": departure,
        "covariance": covariance,
        "size": np.array([len(one.departure) for one in kept.standings]),
        "ratio": np.array([one.ratio for one in kept.standings]),
        "p_value": np.array([one.p_value for one in kept.standings]),
        "others": np.array([one.others for one in kept.standings]),
    }


def _from_arrays(header: dict[str, Any], arrays: dict[str, Any]) -> KeptPool:
    groups = tuple(GroupName(**names) for names in header["groups"])
    numbers = zip(
        *(arrays["departure"], arrays["covariance"], arrays["size"].tolist()),
        *(arrays[name].tolist() for name in ("ratio", "p_value", "others")),
        strict=True,
    )
    standings = tuple(
        Standing(
            aircraft=i,
            departure=departure[:k],
            covariance=covariance[:k, :k],
            ratio=ratio,
            p_value=p_value,
            others=others,
        )
        for i, (departure, covariance, k, ratio, p_value, others) in enumerate(numbers)
    )
    return KeptPool(
        mark=StateMark(
            header["number"], datetime.fromisoformat(header["made_at"]), header["taken_back"]
        ),
        type=header["type"],
        flap_setting=header["flap_setting"],
        groups=groups,
        members=tuple(Member(tag, groups[number]) for tag, number in header["members"]),
        sums=AircraftSums(**{f.name: arrays[f"sums_{f.name}"] for f in fields(AircraftSums)}),
        order=header["order"],
        spread=arrays["spread"],
        phi=header["phi"],
        bends=arrays["bends"],
        usual=UsualSpread(**header["usual"]),
        suspects=frozenset(header["suspects"]),
        standings=standings,
        adjusted=arrays["adjusted"],
        lines=arrays["lines"],
        tests=arrays["tests"],
        sorties=arrays["sorties"],
        findings=tuple(_finding(one) for one in header["findings"]),
    )


def _finding(values: dict[str, Any]) -> OwnFinding:
    lists = {name: tuple(values[name]) for name in ("numbers", "or_numbers")}
    return OwnFinding(**{**values, **lists, "flown_on": date.fromisoformat(values["flown_on"])})
