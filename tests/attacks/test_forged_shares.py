"""No forged share is believed."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.attacks.forged_shares import CONTENTS, VICTIMS, outcomes

pytestmark = pytest.mark.long


def test_every_forgery_is_refused_or_a_conflict(tmp_path: Path) -> None:
    found = list(outcomes(tmp_path))
    assert len(found) == len(VICTIMS) * (2 * len(CONTENTS) + 5)
    assert [one for one in found if one.words == "BELIEVED"] == []
    unchanged = {one.forgery for one in found if one.words == "no change"}
    assert unchanged == {"an older share of the owner, sent again"}
    refused = {one.forgery.split(";")[0] for one in found if one.words == "refused"}
    assert refused == {
        "points that contradict their legs",
        "all points rejected, dated +20 h",
        "a copied signature over changed contents",
        "an owner's key named, a stranger's signature",
    }
