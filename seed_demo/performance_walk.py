"""The second half of the way: climbs and glides, the handbook's speeds, several stores."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from seed_demo.commands import ask, glance, key_at, run, show, store_at
from seed_demo.performance_comparison import (
    PerformanceCheck,
    check_best_speeds,
    check_handbook_speeds,
    check_rates,
    performance_table,
)
from seed_demo.performance_files import WrittenPerformance, curve_truth
from seed_demo.performance_story import Part
from seed_demo.performance_truth import FIXED_PLANT, IDLE, PLANTS, TURBO_PLANT

COORDINATOR_FILE: Final = "coordinator.store"
KEYS_FOLDER: Final = "keys"
SHARING_TAGS: Final = ("C-01", "C-20")
SHOWN: Final = ((FIXED_PLANT.name, "full power"), (TURBO_PLANT.name, IDLE))
PLANNED_TAG: Final = "C-19"


@dataclass(frozen=True)
class PerformanceOutcome:
    """What was found of climbs and glides, held against the truth."""

    speeds: tuple[PerformanceCheck, ...]
    rates: tuple[PerformanceCheck, ...]
    handbook: tuple[PerformanceCheck, ...]


def _weight_words(sortie: WrittenPerformance) -> tuple[str, ...]:
    return (
        *("--airframe", sortie.tag, "--takeoff-weight-kg", f"{sortie.takeoff_kg:.0f}"),
        *("--fuel-used-kg-per-h", f"{sortie.fuel_kg_per_h:g}"),
    )


def climbs_words(sortie: WrittenPerformance, part: Part) -> tuple[str, ...]:
    """Return the command that reduces one part of a performance sortie, after `fleetcal`."""
    power: tuple[str, ...] = ()
    if part.power_state != IDLE:
        state = sortie.plant.state(part.power_state)
        power = ("--thrust-kw", f"{state.estimate_kw:g}", *(["--power-held"] if state.held else []))
    return (
        *("reduce", str(sortie.path), *_weight_words(sortie)),
        *("--quantity", part.kind, "--power-state", part.power_state, *power),
        *("--between-s", f"{part.from_s}..{part.to_s}"),
    )


def reduce_performance(written: Sequence[WrittenPerformance]) -> None:
    """Reduce the slow legs, the climbs and the glides of every performance sortie."""
    for number, sortie in enumerate(written):
        run("reduce", str(sortie.path), *_weight_words(sortie))
        for part in sortie.parts:
            tell = show if number == 0 else run
            tell(*climbs_words(sortie, part))


def pool_performance() -> PerformanceOutcome:
    """Pool each pairing at each power setting and hold what comes out against the truth."""
    speeds: list[PerformanceCheck] = []
    rates: list[PerformanceCheck] = []
    handbook: list[PerformanceCheck] = []
    for plant in PLANTS:
        for tag in (*(state.tag for state in plant.states), IDLE):
            kind = "glide" if tag == IDLE else "climb"
            words = ("curve", plant.name, "--quantity", kind, "--power-state", tag)
            if (plant.name, tag) in SHOWN:
                show(*words, "--step", "10")
            found = ask(*words)
            known = curve_truth(plant, tag, float(found["altitude_ft"]))
            speeds += check_best_speeds(known, found)
            rates += check_rates(known, found)
            handbook += check_handbook_speeds(known, found)
    return PerformanceOutcome(tuple(speeds), tuple(rates), tuple(handbook))


def performance_text(outcome: PerformanceOutcome) -> str:
    """Return what was found of climbs and glides against the truth, in three tables."""
    return "\n".join(
        (
            "\n== Against the truth: best speeds of climb and glide (CAS) ==",
            performance_table(outcome.speeds),
            "Thrust less drag is not quite the parabola that is fitted: the best rate of climb may",
            "be half a knot off, a best angle at the slow end a knot, which no interval knows.",
            "\n== Against the truth: rates of climb and sink, upwards ==",
            performance_table(outcome.rates),
            "\n== Against the truth: the handbook's speeds, its CAS less the true one ==",
            performance_table(outcome.handbook, signed=True),
        )
    )


def share_and_keep(folder: Path) -> None:
    """Check the store, plan a flight, and let two airframes' owners share with a coordinator."""
    glance(2, "store", "check")
    glance(2, "plan", PLANNED_TAG)
    files: list[str] = []
    for tag in SHARING_TAGS:
        files.append(str(folder / f"share-{tag}.json"))
        Path(files[-1]).unlink(missing_ok=True)
        with key_at(folder / KEYS_FOLDER / f"{tag}.json"):
            glance(1, "owners", "name", f"Owner of {tag}")
            glance(3, "share", "--out", files[-1], "--airframe", tag)
    coordinator = folder / COORDINATOR_FILE
    coordinator.unlink(missing_ok=True)
    with store_at(coordinator), key_at(folder / KEYS_FOLDER / "coordinator.json"):
        for file in (*files, files[0]):
            glance(3, "merge", file)
        show("owners", "list")
