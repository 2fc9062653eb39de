"""Changes of many airframes held against what was read and summed once."""

from __future__ import annotations

from dataclasses import astuple
from pathlib import Path

import numpy as np
import pytest

from fleetcal.errors import FitError
from fleetcal.services.curves.check_change import FlownFits, check_change
from fleetcal.services.curves.position_error import POSITION_ERROR
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.curves.repeated_fits import RepeatedFits
from fleetcal.services.points.exchange_points import import_points
from fleetcal.store import AirframeDescription, FitDescription, Store, revise_description
from tests.services.invented_group import FIXED, FLEET, FOUR, TURBO, WING

REQUEST = PoolRequest(quantity=POSITION_ERROR)
DAYS = ("2020-03-05", "2021-03-05", "2023-03-05", "2023-06-05")


def with_changed(store: Store, path: Path) -> None:
    """Six airframes with four sorties each; all but the last got another engine in 2022."""
    with store.writing() as session:
        revise_description(session, FLEET.__class__(airframes=tuple(map(_changed, range(2, 6)))))
    random = np.random.default_rng(4)
    lines = ["airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa,u_shared_kappa"]
    for number in (1, 2, 3, 4, 5, 7):
        for day in DAYS:
            together = random.normal(0.0, 0.004)
            for speed in (65, 80, 95, 110, 125):
                kappa = 0.01 * number + together + random.normal(0.0, 0.006)
                lines.append(f"C-{number:02d},{day},600,{speed},3000,{kappa:.5f},0.0072,0.004")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    import_points(store, path)


def _changed(number: int) -> AirframeDescription:
    fits = tuple(
        FitDescription(from_date=day, static_source=WING, engine=engine, propeller=FIXED)
        for day, engine in zip(_DAYS, (FOUR, TURBO), strict=True)
    )
    return AirframeDescription(tag=f"C-{number:02d}", type="Corrie 2", fits=fits)


_DAYS = tuple(fit.from_date for fit in FLEET.airframes[0].fits)


@pytest.mark.long
def test_one_reading_tells_of_every_airframe_what_a_check_of_its_own_tells(
    described: Store, tmp_path: Path
) -> None:
    with_changed(described, tmp_path / "points.csv")
    fits = FlownFits(POSITION_ERROR.read(described, REQUEST))
    for tag in ("C-01", "C-02", "C-03", "C-04", "C-05"):
        once, own = fits.check([tag]), check_change(described, [tag], REQUEST)
        assert (once.question, once.verdict, once.model) == (own.question, own.verdict, own.model)
        for one, other in zip(once.rows, own.rows, strict=True):
            assert astuple(one) == pytest.approx(astuple(other), rel=1e-9, abs=1e-9)
    with pytest.raises(FitError, match="all flown in one fit"):
        fits.check(["C-07"])


def test_no_fit_of_an_airframe_is_held_against_its_own_change(
    described: Store, tmp_path: Path
) -> None:
    with_changed(described, tmp_path / "points.csv")
    fits = FlownFits(POSITION_ERROR.read(described, REQUEST))
    all_fits = fits.repeated.at(2)
    others = all_fits.without(["C-02", "C-03"])
    assert [all_fits.tags[place] for place in others.leaving] == ["C-02", "C-02", "C-03", "C-03"]
    assert others.sorties == [2, 2, 2, 2, 2, 2, 4]


def test_a_fit_has_the_sums_of_its_own_sorties_alone(described: Store, tmp_path: Path) -> None:
    with_changed(described, tmp_path / "points.csv")
    fits = FlownFits(POSITION_ERROR.read(described, REQUEST))
    rows = [row for row in fits.own["C-07"] if row.flown_on.year == 2023]
    alone = RepeatedFits(fits.read, [("C-07", rows)]).at(2)
    among = RepeatedFits(fits.read, [("C-01", fits.own["C-01"]), ("C-07", rows)]).at(2)
    (second,) = among.without(["C-01"]).of.sums.products[among.sums.group_of == 1][None]
    np.testing.assert_allclose(alone.sums.products, second, rtol=1e-13)


def test_fits_at_too_few_speeds_for_a_curve_do_not_join_it(
    described: Store, tmp_path: Path
) -> None:
    with_changed(described, tmp_path / "points.csv")
    fits = FlownFits(POSITION_ERROR.read(described, REQUEST))
    slow = [row for row in fits.own["C-07"] if row.x > 0.3]
    repeated = RepeatedFits(fits.read, [("C-07", slow), ("C-01", fits.own["C-01"])])
    assert [repeated.at(order).tags for order in (1, 2)] == [["C-07", "C-01"], ["C-01"]]
    assert repeated.at(1).counts == [4, 4]
    assert repeated.at(2).sums.products.shape == (4, 4, 4)
