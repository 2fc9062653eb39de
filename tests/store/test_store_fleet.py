from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store import (
    AirframeDescription,
    FitDescription,
    FleetDescription,
    SaveCounts,
    StaticSourceDescription,
    Store,
    TypeDescription,
    find_airframe,
    fit_in_force,
    load_description,
    save_description,
)
from tests.store.invented_rows import (
    CONSTANT,
    FIXED,
    FLEET,
    FOUR,
    TURBO,
    WING,
    fly,
    row_counts,
)

THINGS = 1 + 2 + 2 + 2 + 2 + 3 + 1  # types, sources, engines, propellers, airframes, fits, books
FIRST, SECOND = FLEET.airframes


def save(store: Store, fleet: FleetDescription) -> SaveCounts:
    with store.writing() as session:
        return save_description(session, fleet)


def load(store: Store) -> FleetDescription:
    with store.reading() as session:
        return load_description(session)


def refit(number: int, **changes: object) -> FleetDescription:
    """Return a description of the first airframe with one fit changed."""
    fits = list(FIRST.fits)
    fits[number] = replace(fits[number], **changes)  # type: ignore[arg-type]
    return FleetDescription(airframes=(replace(FIRST, fits=tuple(fits)),))


def test_a_fleet_comes_back_as_it_was_described(store: Store) -> None:
    assert save(store, FLEET) == SaveCounts(added=THINGS, changed=0, unchanged=0)
    assert load(store) == FLEET


def test_saving_what_was_loaded_changes_nothing(store: Store) -> None:
    save(store, FLEET)
    assert save(store, load(store)) == SaveCounts(added=0, changed=0, unchanged=THINGS)


def test_the_order_of_a_description_does_not_matter(store: Store) -> None:
    turned = replace(
        FLEET,
        engines=FLEET.engines[::-1],
        propellers=FLEET.propellers[::-1],
        airframes=tuple(replace(one, fits=one.fits[::-1]) for one in FLEET.airframes[::-1]),
        handbooks=(replace(FLEET.handbooks[0], rows=FLEET.handbooks[0].rows[::-1]),),
        types=(replace(FLEET.types[0], static_sources=FLEET.types[0].static_sources[::-1]),),
    )
    save(store, turned)
    assert load(store) == FLEET


def test_a_part_of_a_fleet_may_be_described_alone(store: Store) -> None:
    save(store, FLEET)
    fit = FitDescription(
        from_date=date(2020, 1, 1), static_source=WING, engine=FOUR, propeller=FIXED
    )
    third = AirframeDescription(tag="C-03", type="Corrie 2", fits=(fit,))
    counts = save(store, FleetDescription(airframes=(third,)))
    assert counts == SaveCounts(added=2, changed=0, unchanged=0)
    assert load(store) == replace(FLEET, airframes=(FIRST, SECOND, third))


def test_what_differs_is_changed_and_counted(store: Store) -> None:
    save(store, FLEET)
    kind = replace(FLEET.types[0], flap_limit_kt=80.0)
    book = replace(FLEET.handbooks[0], rows=((60.0, 62.0), (70.0, 71.5), (80.0, 81.0)))
    first = replace(FIRST, note="repainted")
    changed = replace(FLEET, types=(kind,), airframes=(first, SECOND), handbooks=(book,))
    assert save(store, changed) == SaveCounts(added=0, changed=3, unchanged=THINGS - 3)
    assert load(store) == changed


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"static_source": WING}, "static source"),
        ({"engine": TURBO}, "engine"),
        ({"propeller": CONSTANT, "pitot": "wing"}, "propeller and pitot"),
    ],
)
def test_equipment_under_stored_sorties_does_not_change(
    filled: Store, change: dict[str, object], words: str
) -> None:
    with pytest.raises(
        DataError, match=rf"2015-04-01 has stored sorties \(1\), so its {words} cannot"
    ):
        save(filled, refit(0, **change))
    assert load(filled) == FLEET


def test_equipment_of_a_fit_that_nobody_flew_may_change(filled: Store) -> None:
    assert save(filled, refit(1, engine=FOUR)).changed == 1


def test_the_note_of_a_flown_fit_may_change(filled: Store) -> None:
    assert save(filled, refit(0, note="as built, seen again")).changed == 1


def test_a_new_fit_may_not_slip_under_stored_sorties(filled: Store) -> None:
    fit = FitDescription(
        from_date=date(2018, 1, 1), static_source=WING, engine=FOUR, propeller=FIXED
    )
    late = FleetDescription(airframes=(replace(FIRST, fits=(*FIRST.fits, fit)),))
    with pytest.raises(DataError, match=r"sorties \(1, up to 2018-01-01\) are stored"):
        save(filled, late)
    after = replace(fit, from_date=date(2018, 1, 2))
    assert save(filled, FleetDescription(airframes=(replace(FIRST, fits=(after,)),))).added == 1


def test_an_airframe_that_flew_keeps_its_type(filled: Store) -> None:
    other = TypeDescription(name="Corrie 3", reference_weight_kg=650.0, scaling_speed_kt=48.0)
    moved = FleetDescription(types=(other,), airframes=(replace(FIRST, type="Corrie 3", fits=()),))
    with pytest.raises(DataError, match="its type cannot change"):
        save(filled, moved)
    assert load(filled) == FLEET


def test_an_airframe_has_no_static_source_of_another_type(store: Store) -> None:
    save(store, FLEET)
    other = TypeDescription(
        name="Corrie 3",
        reference_weight_kg=650.0,
        scaling_speed_kt=48.0,
        static_sources=(StaticSourceDescription("other"),),
    )
    moved = replace(SECOND, type="Corrie 3", fits=())
    with pytest.raises(DataError, match="C-02: its fit from 2016-04-01 has a static source of"):
        save(store, FleetDescription(types=(other,), airframes=(moved,)))
    refitted = replace(moved, fits=(replace(SECOND.fits[0], static_source="other"),))
    assert save(store, FleetDescription(types=(other,), airframes=(refitted,))).changed == 2


@pytest.mark.parametrize(
    ("fleet", "words", "hint"),
    [
        (refit(0, static_source="wing bom"), "no static source of Corrie 2 'wing bom'", WING),
        (refit(0, engine="75 kw four"), "no engine '75 kw four'", FOUR),
        (refit(0, propeller="paddle wheel"), "no propeller 'paddle wheel'", "knows 2"),
        (
            FleetDescription(airframes=(replace(FIRST, type="Corrie2"),)),
            "no type 'Corrie2'",
            "Corrie 2",
        ),
        (
            FleetDescription(handbooks=(replace(FLEET.handbooks[0], static_source="tail"),)),
            "no static source of Corrie 2 'tail'",
            "",
        ),
    ],
)
def test_a_name_that_is_not_described_is_refused_with_near_ones(
    store: Store, fleet: FleetDescription, words: str, hint: str
) -> None:
    save(store, FLEET)
    with pytest.raises(UnknownNameError, match=words) as caught:
        save(store, fleet)
    assert hint in caught.value.hint
    assert load(store) == FLEET


@pytest.mark.parametrize(
    ("fleet", "words"),
    [
        (replace(FLEET, engines=(FOUR, FOUR)), "engine 75 kW four 2 times"),
        (replace(FLEET, types=FLEET.types * 2), "type Corrie 2 2 times"),
        (replace(FLEET, airframes=(FIRST, FIRST)), "airframe C-01 2 times"),
        (
            replace(FLEET, airframes=(replace(FIRST, fits=FIRST.fits[:1] * 2),)),
            "C-01's fit from 2015-04-01 2 times",
        ),
        (replace(FLEET, handbooks=FLEET.handbooks * 2), "handbook table Corrie 2 / tail-boom"),
        (
            replace(FLEET, handbooks=(replace(FLEET.handbooks[0], rows=((60.0, 1.0),) * 2),)),
            "IAS 60.0 2 times",
        ),
        (
            replace(FLEET, handbooks=(replace(FLEET.handbooks[0], rows=((60.0, -1.0),)),)),
            "60, -1 kt is not two speeds",
        ),
        (replace(FLEET, types=(replace(FLEET.types[0], scaling_speed_kt=0.0),)), "type Corrie 2:"),
        (replace(FLEET, engines=(FOUR, TURBO, " ")), "engine_name_filled"),
    ],
)
def test_a_description_that_cannot_be_is_refused_whole(
    store: Store, fleet: FleetDescription, words: str
) -> None:
    with pytest.raises(DataError, match=words):
        save(store, fleet)
    with store.reading() as session:
        assert set(row_counts(session).values()) == {0}


def test_an_unknown_tag_is_answered_with_near_ones(filled: Store) -> None:
    with filled.reading() as session, pytest.raises(UnknownNameError) as caught:
        find_airframe(session, "c-1")
    assert "C-01" in caught.value.hint


def test_an_empty_store_says_that_it_is_empty(store: Store) -> None:
    with store.reading() as session, pytest.raises(UnknownNameError) as caught:
        find_airframe(session, "C-01")
    assert "load a fleet description" in caught.value.hint


def test_the_fit_in_force_is_the_last_that_has_begun(filled: Store) -> None:
    change = FIRST.fits[1].from_date
    with filled.reading() as session:
        airframe = find_airframe(session, "C-01")
        assert fit_in_force(airframe, FIRST.fits[0].from_date).engine.name == FOUR
        assert fit_in_force(airframe, change - timedelta(days=1)).engine.name == FOUR
        assert fit_in_force(airframe, change).engine.name == TURBO
        assert fit_in_force(airframe, date(2999, 1, 1)).engine.name == TURBO
        with pytest.raises(DataError, match="first fit is from 2015-04-01, the date is 2015-03-31"):
            fit_in_force(airframe, date(2015, 3, 31))


def test_an_airframe_without_fits_cannot_fly(store: Store) -> None:
    save(store, replace(FLEET, airframes=(replace(FIRST, fits=()),)))
    with pytest.raises(DataError, match="no equipment fit is recorded"), store.writing() as session:
        fly(session)
