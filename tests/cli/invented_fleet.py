"""An invented fleet and its points, drawn at random with a fixed seed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

PAIRING = ("75 kW four", "two-blade fixed")
WING, TAIL, MID = "wing boom", "tail-boom flush pair", "mid-fuselage raised disc pair"
SCALING_SPEED_KT = 45.0
REFERENCE_WEIGHT_KG = 600.0


@dataclass(frozen=True)
class Group:
    """A static source, how many carry it, and its error: kappa = a + b*(s - 0.25)."""

    static_source: str
    airframes: int
    level: float
    tilt: float


GROUPS = (Group(TAIL, 8, -0.05, 0.10), Group(WING, 10, 0.04, -0.12))
SMALL_GROUP = Group(MID, 3, 0.01, 0.05)


def tags(groups: tuple[Group, ...]) -> dict[str, Group]:
    """Tag of every airframe, C-01 onwards, with its group."""
    owners = [group for group in groups for _ in range(group.airframes)]
    return {f"C-{i:02d}": group for i, group in enumerate(owners, 1)}


def fleet_toml(groups: tuple[Group, ...] = GROUPS) -> str:
    """Describe the fleet as the text of a fleet file."""
    lines = [
        "[[type]]",
        'name = "Corrie 2"',
        f"reference_weight_kg = {REFERENCE_WEIGHT_KG}",
        f"scaling_speed_kt = {SCALING_SPEED_KT}",
    ]
    for source in (TAIL, WING, MID):
        lines += ["[[type.static_source]]", f'name = "{source}"']
    lines += ["[[engine]]", f'name = "{PAIRING[0]}"', "[[propeller]]", f'name = "{PAIRING[1]}"']
    for tag, group in tags(groups).items():
        lines += [
            "[[airframe]]",
            'temperature_shows = "probe"',
            f'tag = "{tag}"',
            'type = "Corrie 2"',
            'note = "invented"',
            "[[airframe.fit]]",
            "from = 2015-04-01",
            f'static_source = "{group.static_source}"',
            f'engine = "{PAIRING[0]}"',
            f'propeller = "{PAIRING[1]}"',
        ]
    return "\n".join(lines) + "\n"


def points_csv(
    groups: tuple[Group, ...] = GROUPS,
    odd: dict[str, float] | None = None,
    seed: int = 7,
    speeds_kt: tuple[float, ...] = (65.0, 80.0, 95.0, 110.0, 125.0),
) -> str:
    """Draw two sorties of points for every airframe; `odd` adds to the kappa of some tags."""
    rng = np.random.default_rng(seed)
    u_own, u_shared = 0.006, 0.004
    lines = [
        "airframe,flown_on,sortie,weight_kg,vic_kt,pressure_altitude_ft,"
        "kappa,u_kappa,u_shared_kappa"
    ]
    for tag, group in tags(groups).items():
        # No airframe is odd by chance: how often chance does that is another test's matter.
        drawn = 0.010 * float(np.clip(rng.normal(), -2.0, 2.0))
        level = group.level + drawn + (odd or {}).get(tag, 0.0)
        tilt = group.tilt + rng.normal(0.0, 0.02)
        for sortie in ("a", "b"):
            weight = float(rng.integers(520, 600))
            together = rng.normal(0.0, u_shared)
            for speed in speeds_kt:
                vic = speed + float(rng.normal(0.0, 1.0))
                lift = (SCALING_SPEED_KT / vic) ** 2 * weight / REFERENCE_WEIGHT_KG
                kappa = level + tilt * (lift - 0.25) + together + rng.normal(0.0, u_own)
                u_kappa = np.hypot(u_own, u_shared)
                lines.append(
                    f"{tag},2024-03-05,{sortie},{weight:.0f},{vic:.2f},3500,"
                    f"{kappa:.6f},{u_kappa:.6f},{u_shared:.6f}"
                )
    return "\n".join(lines) + "\n"
