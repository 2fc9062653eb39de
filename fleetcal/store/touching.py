"""What a write says that it touches, as plain values; see `fleetcal.store.type_locks`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Touching:
    """What a write touches, by what its caller knows; all of it, or the write is done twice.

    Attributes:
        airframes, types: Tags; names.
        sorties, points, climbs, bench_checks, leak_checks: Numbers.
        files: SHA-256 of files that flights came from.
    """

    airframes: Sequence[str] = ()
    types: Sequence[str] = ()
    sorties: Sequence[int] = ()
    points: Sequence[int] = ()
    climbs: Sequence[int] = ()
    bench_checks: Sequence[int] = ()
    leak_checks: Sequence[int] = ()
    files: Sequence[str] = ()
