"""What a table says of itself if it is of one airframe and not of a group."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

Places = tuple[tuple[float, float], ...]


@dataclass(frozen=True, kw_only=True)
class OneAirframe:
    """The airframe of a table.

    A row of such a table that has values and a note is from the group: the airframe has not flown
    its speed.

    Attributes:
        answers: What its indicator does, in sentences.
        rests_on: What the table rests on; sentences without their full stop.
        group_mean: Places (ias_kt, correction_kt) of the mean of its group, for the figure; empty
            where no group says something of it.
    """

    tag: str
    answers: tuple[str, ...] = ()
    rests_on: tuple[str, ...] = ()
    group_mean: Places = ()

    def scaled(self, to_unit: Callable[[float], float]) -> OneAirframe:
        """Return it for drawing, with its speeds in another unit."""
        return replace(self, group_mean=tuple((to_unit(v), to_unit(c)) for v, c in self.group_mean))

    @classmethod
    def of_kept(cls, values: Mapping[str, Any]) -> OneAirframe:
        """Return what was kept as JSON."""
        lists = {name: tuple(values[name]) for name in ("answers", "rests_on")}
        return cls(
            **{**values, **lists, "group_mean": tuple((v, c) for v, c in values["group_mean"])}
        )
