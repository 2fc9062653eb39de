"""The technical officer's way through the commands, from the first file to the printed page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from seed_demo.commands import ask, glance, run, show, store_at
from seed_demo.comparison import (
    CurveCheck,
    FlagCheck,
    check_curve,
    check_flags,
    check_handbook,
    curve_table,
    flag_text,
)
from seed_demo.files import (
    FLEET_FILE,
    LIST_FILE,
    LOG_FOLDER,
    OLDER_FILE,
    SEASON_FILE,
    WrittenSortie,
)
from seed_demo.fleet import CHANGED_TAG, LEAKING_TAG, SWAPPED_TAG
from seed_demo.performance_files import WrittenPerformance
from seed_demo.performance_walk import (
    PerformanceOutcome,
    performance_text,
    pool_performance,
    reduce_performance,
    share_and_keep,
)
from seed_demo.season import SEASON_TAG, season_verdict
from seed_demo.truth import TAIL_BOOM, WING_BOOM

STORE_FILE: Final = "corrie.store"
SEASON_STORE: Final = "season.store"
PAGES_FOLDER: Final = "pages"
ISSUES_FOLDER: Final = "issues"
SITE_FOLDER: Final = "site"


@dataclass(frozen=True)
class Outcome:
    """What the demonstration found, held against the truth."""

    flags: FlagCheck
    curves: tuple[CurveCheck, ...]
    handbook: tuple[CurveCheck, ...]
    performance: PerformanceOutcome


def _heading(text: str) -> None:
    print(f"\n== {text} ==")


def _load_and_reduce(folder: Path, written: Sequence[WrittenSortie]) -> None:
    _heading("Load the fleet and reduce every flight")
    show("fleet", "load", str(folder / FLEET_FILE))
    first = written[0]
    show("reduce", str(first.path), "--airframe", first.tag, "--weight-kg", f"{first.weight_kg:g}")
    run("reduce", str(folder / LOG_FOLDER), "--flights", str(folder / LIST_FILE))
    show("points", "import", str(folder / OLDER_FILE))
    show("groups")


def _find_and_leave_out(truth: dict[str, Any]) -> FlagCheck:
    _heading("Who stands outside its group?")
    show("outliers")
    flags = check_flags(truth, ask("outliers"))
    show("standing", LEAKING_TAG)
    _heading("The workshop looks at the flagged ones; where it finds a fault, the points go")
    points = ask("points", "list")["points"]
    faults = {a["airframe"]: a["planted"] for a in truth["airframes"]}
    for tag in flags.flagged:
        if not faults[tag]:
            print(f"{tag}: nothing found on the bench, the points stay")
            continue
        numbers = [str(point["point_id"]) for point in points if point["airframe"] == tag]
        show("points", "reject", *numbers, "--reason", f"found on the bench: {faults[tag]}")
    left = check_flags(truth, ask("outliers")).flagged
    print(f"outside its group now: {', '.join(left) or 'none'}")
    return flags


def _compare() -> None:
    _heading("Did the new engine and propeller of one airframe change it? Do two ports differ?")
    show("change", CHANGED_TAG)
    show("contrast", TAIL_BOOM, WING_BOOM)


def _first_issue(folder: Path) -> None:
    _heading("A curve leaves out who stands outside; an issue that keeps everybody in")
    glance(3, "curve", WING_BOOM)
    issues = str(folder / ISSUES_FOLDER / "1")
    kept = ("--with", SWAPPED_TAG, "--issue", "--reason", "first pooled table")
    show("publish", WING_BOOM, *kept, "--out", issues)


def _second_issue(folder: Path) -> None:
    _heading("The second issue: what changed, the first withdrawn, and made again")
    issues = folder / ISSUES_FOLDER
    why = "points of the airframe with the swapped port left out"
    show("publish", WING_BOOM, "--issue", "--reason", why, "--out", str(issues / "2"))
    show("issue", "compare", WING_BOOM, "1", "2")
    reason = "an airframe with a swapped port was in the pool"
    withdrawn = ("issue", "withdraw", WING_BOOM, "1", "--reason", reason)
    show(*withdrawn, "--out", str(issues / "1"))
    show("issue", "again", WING_BOOM, "1", "--out", str(issues / "1 again"))


def _hold_against_handbook(truth: dict[str, Any]) -> tuple[CurveCheck, ...]:
    _heading("The handbook against the ports that are fitted")
    checks: list[CurveCheck] = []
    for group in truth["groups"]:
        name = group["group"]
        checks += check_handbook(truth, name, ask("handbook", "compare", name))
    name = truth["groups"][-1]["group"]
    show("handbook", "compare", name, "--step", "10")
    show("handbook", "compare", name, "--carry")
    return tuple(checks)


def _pool_and_publish(folder: Path, truth: dict[str, Any]) -> tuple[CurveCheck, ...]:
    _heading("Pooled curves and pages")
    checks: list[CurveCheck] = []
    for group in truth["groups"]:
        name = group["group"]
        show("curve", name, "--step", "10")
        checks += check_curve(truth, name, ask("curve", name))
        show("publish", name, "--out", str(folder / PAGES_FOLDER))
    return tuple(checks)


def _watch(folder: Path) -> str:
    """Watch the season of one airframe, in a store of its own."""
    _heading("A season of one airframe: did its airspeed error change?")
    store = folder / SEASON_STORE
    store.unlink(missing_ok=True)
    with store_at(store):
        run("fleet", "load", str(folder / FLEET_FILE))
        run("points", "import", str(folder / SEASON_FILE))
        show("watch", SEASON_TAG, "--out", str(folder / "season.svg"))
        return season_verdict(ask("watch", SEASON_TAG))


def _climb_and_glide(performance: Sequence[WrittenPerformance]) -> PerformanceOutcome:
    _heading("Sawtooth climbs and glides: a few slow legs, then each power setting")
    reduce_performance(performance)
    _heading("Climbs and glides pooled by engine and propeller, beside the handbook's speeds")
    return pool_performance()


def walk(
    folder: Path,
    written: Sequence[WrittenSortie],
    truth: dict[str, Any],
    performance: Sequence[WrittenPerformance],
) -> Outcome:
    """Run every command on freshly written files and print the comparison with the truth.

    A store left by an earlier demonstration in the same folder is replaced.
    """
    store = folder / STORE_FILE
    store.unlink(missing_ok=True)
    with store_at(store):
        _load_and_reduce(folder, written)
        _first_issue(folder)
        flags = _find_and_leave_out(truth)
        _second_issue(folder)
        _compare()
        curves = _pool_and_publish(folder, truth)
        handbook = _hold_against_handbook(truth)
        climbs = _climb_and_glide(performance)
        _heading("Store checked, next flight planned, two owners' shares merged by a coordinator")
        share_and_keep(folder)
        _heading("The whole fleet as a site that opens from its folder")
        show("publish", "--site", "--out", str(folder / SITE_FOLDER))
    season = _watch(folder)
    _heading("Against the truth: faults")
    print(flag_text(flags))
    _heading("Against the truth: curves")
    print(curve_table(curves))
    _heading("Against the truth: the planted handbook")
    print(curve_table(handbook))
    print(performance_text(climbs))
    print(f"Watch on {SEASON_TAG}: {season}")
    print(f"\nSite: {folder / SITE_FOLDER / 'index.html'}   pages: {folder / PAGES_FOLDER}")
    print(f"Truth: {folder / 'truth.md'}")
    return Outcome(flags, curves, handbook, climbs)
