"""One odd value of a point, whichever way it comes in, takes no answer of its type away."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.attacks.odd_points import ODD, WAYS, attack

pytestmark = pytest.mark.any_store("works on files that it writes where no gate looks")

WRONG = ("traceback", "hang", "unnamed", "silent")


def wrong_of(found: Counter[str]) -> dict[str, int]:
    return {kind: found[kind] for kind in WRONG if found[kind]}


@pytest.mark.parametrize(
    "way", [pytest.param(w, marks=pytest.mark.long) if w != "older store" else w for w in WAYS]
)
def test_an_odd_uncertainty_is_refused_doubted_or_harmless(way: str) -> None:
    found = attack((way,), ({"u_kappa": "1e-12"},))
    assert found["brought in"] == 1
    assert wrong_of(found) == {}


COLUMNS = sorted({name for one in ODD for name in one if name not in ("flown_on", "leg_count")})
VALUES = st.one_of(
    st.floats(allow_nan=False, allow_infinity=False),
    st.sampled_from((0.0, 1e-320, 1e-12, 1e-5, 1.0, 1e3, 1e6, 1e308)),
)


@pytest.mark.long
@settings(max_examples=8)  # python -m tests.attacks.odd_points tries more than two hundred
@given(way=st.sampled_from(WAYS), column=st.sampled_from(COLUMNS), value=VALUES)
def test_any_single_odd_value_is_refused_doubted_or_harmless(
    way: str, column: str, value: float
) -> None:
    assert wrong_of(attack((way,), ({column: repr(value)},))) == {}
