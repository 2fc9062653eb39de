"""What is known of a port holds at the same lift, whatever the weights."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fleetcal.services.known_port import KnownPort
from fleetcal.store import HandbookDescription, KnownKappa, TypeDescription
from tests.services.test_large_error import point

pytestmark = pytest.mark.any_store("opens no store")

BOOK = HandbookDescription(
    type="Corrie 2",
    static_source="wing boom",
    flap_setting="up",
    name="first edition",
    weight_kg=600.0,
    rows=((40.0, 60.0), (50.0, 50.0), (60.0, 60.0)),
)
KIND = TypeDescription(name="Corrie 2", reference_weight_kg=600.0, scaling_speed_kt=45.0)
PORT = KnownPort(
    airframe="C-07", kind=KIND, static_source="wing boom", handbooks=(BOOK,), kappas=()
)
# 44 kt at 1.21 times the weight is the lift of 40 kt, where the book has half as much again
SLOW = replace(point(1, 44.0, 66.0), weight_kg=726.0)


def test_a_handbook_is_read_at_the_lift_of_the_point() -> None:
    assert PORT.bears_out(SLOW) == "first edition"
    assert PORT.contradiction(SLOW) == ""
    light = replace(SLOW, weight_kg=600.0)
    assert PORT.bears_out(light) == ""
    assert PORT.contradiction(light) == (
        "44 kt would be 66 kt calibrated, where handbook first edition has 57 kt"
    )


def test_one_handbook_that_agrees_silences_another_and_all_else() -> None:
    other = replace(BOOK, name="second edition", rows=((40.0, 41.0), (60.0, 60.0)))
    kept = KnownKappa(airframe="C-07", vic_kt=44.0, weight_kg=726.0, kappa=0.0)
    both = replace(PORT, handbooks=(other, BOOK), kappas=(kept,))
    assert both.contradiction(SLOW) == ""
    assert "second edition has 45 kt" in replace(both, handbooks=(other,)).contradiction(SLOW)
    assert "kept points of C-07 have 44 kt" in replace(both, handbooks=()).contradiction(SLOW)


def test_kept_points_are_those_of_the_same_lift() -> None:
    heavy = KnownKappa(airframe="C-07", vic_kt=40.0, weight_kg=600.0, kappa=0.0)
    light = replace(heavy, vic_kt=44.0)  # a lower lift by a fifth
    bare = replace(PORT, handbooks=())
    assert replace(bare, kappas=(heavy,)).contradiction(SLOW) != ""
    assert replace(bare, kappas=(light,)).contradiction(SLOW) == ""


def test_a_stall_speed_grows_with_the_weight() -> None:
    kind = replace(KIND, stall_speed_clean_kt=50.0, speeds_are="CAS")
    port = replace(PORT, handbooks=(), kind=kind)
    slow = replace(point(1, 50.0, 41.0), weight_kg=600.0)
    assert port.contradiction(slow) == ""
    assert port.contradiction(replace(slow, weight_kg=726.0)).endswith("the type stalls at 55 kt")
