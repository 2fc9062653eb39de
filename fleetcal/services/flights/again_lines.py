"""What reducing flights again gave, beside what is stored."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from fleetcal.store.exchange.replace_flight import KeptDecision, StoredReduction
from fleetcal.store.exchange.same_runs import flown_points, pairs_of, same_values

ALIKE, CHANGED, APPEARS, GOES = "alike", "changed", "appears", "goes"
#: What becomes of a flight.
REPLACED, WOULD_CHANGE, FAILED = "replaced", "would change", "failed"

_COMPARED: Final = ("kappa", "u_kappa", "dvpc_kt", "u_dvpc_kt")


@dataclass(frozen=True, kw_only=True)
class AgainPoint:
    """A point before and after; None where there is none.

    Attributes:
        outcome: ``alike``, ``changed``, ``appears`` or ``goes``.
        vic_kt: After; before of a point that goes.
        decision: What becomes of what somebody decided; empty where nobody has.
    """

    sortie_id: int
    file: str
    number_before: int | None
    number_after: int | None
    outcome: str
    vic_kt: float
    kappa_before: float | None
    u_kappa_before: float | None
    dvpc_kt_before: float | None
    u_dvpc_kt_before: float | None
    kappa_after: float | None
    u_kappa_after: float | None
    dvpc_kt_after: float | None
    u_dvpc_kt_after: float | None
    accepted_before: bool | None
    accepted_after: bool | None
    decision: str


@dataclass(frozen=True, kw_only=True)
class AgainFlight:
    """What became of one flight: ``alike``, ``would change``, ``replaced`` or ``failed``.

    `moved` says what its temperature and humidity were taken to be, where that is another now.
    """

    sortie_id: int
    airframe: str
    file: str
    outcome: str
    error: str = ""
    hint: str = ""
    warnings: tuple[str, ...] = ()
    moved: tuple[str, ...] = ()


@dataclass(frozen=True)
class AgainReduction:
    """Flights reduced again, and every point of them before and after."""

    flights: tuple[AgainFlight, ...]
    points: tuple[AgainPoint, ...]

    def count(self, outcome: str) -> int:
        """Return how many flights came out like this."""
        return sum(flight.outcome == outcome for flight in self.flights)


@dataclass(frozen=True)
class Compared:
    """A new reduction beside the stored one.

    Attributes:
        decided: Of each new point: what somebody decided of the same run stands, and what the
            reduction itself found takes the place of what it found before.
    """

    points: tuple[AgainPoint, ...]
    decided: tuple[KeptDecision, ...]

    @property
    def is_alike(self) -> bool:
        """Whether nothing changes."""
        return all(point.outcome == ALIKE for point in self.points)


def compared(
    sortie_id: int,
    file: str,
    kept: StoredReduction,
    legs: Sequence[dict[str, Any]],
    points: Sequence[dict[str, Any]],
) -> Compared:
    """Compare a new reduction with the stored one.

    Args:
        legs, points: New ones, with the names that the store has.
    """
    stored, standings = kept.points, kept.standings
    pairs = pairs_of(flown_points(stored, kept.legs), flown_points(points, legs))
    before_of = {j: i for i, j in pairs}
    lines, decided = [], []
    for j, point in enumerate(points):
        i = before_of.get(j)
        found = KeptDecision(bool(point["accepted"]), point["reason"], None)
        old = standings[i] if i is not None else None
        now = old if old is not None and old.decided_at is not None else found
        decided.append(now)
        decision = f"kept: {_decision(now)}" if now.decided_at is not None else ""
        outcome = APPEARS
        if i is not None:
            same = same_values(stored[i], point) and (old == now)
            outcome = ALIKE if same else CHANGED
        lines.append(
            _line(
                sortie_id,
                file,
                outcome,
                before=stored[i] if i is not None else None,
                after=point,
                standings=(old, now),
                decision=decision,
            )
        )
    paired = {i for i, _ in pairs}
    for i, (point, old) in enumerate(zip(stored, standings, strict=True)):
        if i not in paired:
            decision = f"goes: {_decision(old)}" if old.decided_at is not None else ""
            lines.append(
                _line(
                    sortie_id,
                    file,
                    GOES,
                    before=point,
                    after=None,
                    standings=(old, None),
                    decision=decision,
                )
            )
    return Compared(tuple(lines), tuple(decided))


def _decision(standing: KeptDecision) -> str:
    return "accepted" if standing.accepted else f"rejected ({standing.reason})"


def _line(
    sortie_id: int,
    file: str,
    outcome: str,
    before: dict[str, Any] | None,
    after: dict[str, Any] | None,
    standings: tuple[KeptDecision | None, KeptDecision | None],
    decision: str,
) -> AgainPoint:
    one, other = before or {}, after or {}
    old, now = standings
    return AgainPoint(
        sortie_id=sortie_id,
        file=file,
        number_before=one.get("number"),
        number_after=other.get("number"),
        outcome=outcome,
        vic_kt=(after or one)["vic_kt"],
        accepted_before=old.accepted if old is not None else None,
        accepted_after=now.accepted if now is not None else None,
        decision=decision,
        **{f"{name}_before": one.get(name) for name in _COMPARED},
        **{f"{name}_after": other.get(name) for name in _COMPARED},
    )
