"""What the speeds of a type are said to be: kept, shared, and unsaid in older stores and files."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.services.sharing.share_format import read_share
from fleetcal.store import FleetDescription, load_description, open_store, save_description
from fleetcal.store.exchange.collect_entries import described
from tests.older_store import step
from tests.store.invented_rows import FLEET, fill_every_table
from tests.store.invented_shares import LATER, fill, shared_text, with_contents

KIND = FLEET.types[0]
PORT = KIND.static_sources[0].name


def saying(what: str) -> FleetDescription:
    return FleetDescription(types=(replace(KIND, speeds_are=what),))


@pytest.mark.long
def test_a_store_of_the_eleventh_revision_has_speeds_of_which_nobody_said_what_they_are(
    place: str,
) -> None:
    with open_store(place) as store:
        fill_every_table(store)
        with store.reading() as session:
            before = load_description(session)
    step(place, "downgrade", "0011")
    with open_store(place, create=False) as store, store.reading() as session:
        assert {kind.speeds_are for kind in load_description(session).types} == {""}
        assert load_description(session) == before


@pytest.mark.parametrize("what", ["CAS", f"IAS on {PORT}"])
def test_what_is_said_is_kept_and_stands_in_the_place_of_nothing_said(
    place: str, what: str
) -> None:
    with open_store(place) as store:
        with store.writing() as session:
            save_description(session, saying(""))
        with store.writing() as session:
            assert save_description(session, saying(what)).changed == 1
        with store.reading() as session:
            (kind,) = load_description(session).types
    assert kind.speeds_are == what
    assert kind.speeds_port == ("" if what == "CAS" else PORT)
    name = ("type", (KIND.name,))
    unsaid, said = (described(saying(one))[name] for one in ("", what))
    assert "speeds_are" not in unsaid.content  # its digest is that of older stores
    assert unsaid.digest in said.replaced


def test_speeds_of_a_port_that_the_type_has_not_are_refused(place: str) -> None:
    with (
        open_store(place) as store,
        store.writing() as session,
        pytest.raises(UnknownNameError, match="no such static source"),
    ):
        save_description(session, saying("IAS on a kite"))


def test_a_share_file_carries_it_and_refuses_what_it_cannot_be(place: str) -> None:
    with open_store(place) as store:
        fill(store)
        document = json.loads(shared_text(store))
    contents = document["contents"]
    (kind,) = contents["things"]["type"]
    port = next(one["key"][1] for one in contents["things"]["static_source"])
    for what in ("CAS", f"IAS on {port}"):
        kind["content"]["speeds_are"] = what
        entries = read_share(with_contents(document, contents), "a.json", LATER).entries
        assert entries["type", tuple(kind["key"])].content["speeds_are"] == what
    for wrong in ("TAS", "", "IAS on ", "IAS on a kite", 5):
        kind["content"]["speeds_are"] = wrong
        with pytest.raises(DataError):
            read_share(with_contents(document, contents), "a.json", LATER)
