from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import CheckConstraint, Connection, ForeignKeyConstraint, inspect, text
from sqlalchemy.exc import IntegrityError

from fleetcal.errors import StoreError
from fleetcal.store import load_description, open_store, save_description, schema_state, upgrade
from fleetcal.store.connection import for_upgrading
from fleetcal.store.engines.kinds import SERVERS, file_engine
from fleetcal.store.location import locate
from fleetcal.store.models import Base
from tests.store.invented_rows import FLEET, fill_every_table, row_counts
from tests.store.upgrade_step import NEWEST, NEXT, REBUILDING

FAILING = REBUILDING.replace(
    "\ndef downgrade", "\n    op.execute('INSERT INTO nowhere VALUES (1)')\n\ndef downgrade"
)
ORPHANING = REBUILDING.replace(
    "\ndef downgrade", "\n    op.execute('DELETE FROM sortie')\n\ndef downgrade"
)


@contextmanager
def upgrading(place: str, *, foreign_keys: bool = False) -> Iterator[Connection]:
    """Yield a connection in a transaction such as upgrades run in."""
    location = locate(place)
    if location.path is not None:
        engine = file_engine(location.path, patience_s=1.0, foreign_keys=foreign_keys)
    else:
        assert location.url is not None
        engine = SERVERS["postgresql"].engine(location.url, patience_s=1.0)
    with for_upgrading(engine).connect() as connection, connection.begin():
        yield connection
    engine.dispose()


def step(place: str, move: Callable[..., None], to: str, *, foreign_keys: bool = False) -> None:
    config = upgrade.alembic_config()
    with upgrading(place, foreign_keys=foreign_keys) as connection:
        config.attributes["connection"] = connection
        move(config, to)
        upgrade.refuse_orphans(connection, "the store")


def test_the_newest_revision_is_the_scripts_head() -> None:
    scripts = ScriptDirectory.from_config(upgrade.alembic_config())
    assert scripts.get_current_head() == schema_state.NEWEST_REVISION


def test_the_upgrade_steps_make_exactly_the_tables_of_the_models(bare_place: str) -> None:
    open_store(bare_place).close()
    with upgrading(bare_place) as connection:
        options = {
            "version_table": schema_state.REVISION_TABLE,
            "compare_type": True,
            "compare_server_default": True,
        }
        context = MigrationContext.configure(connection, opts=options)
        assert compare_metadata(context, Base.metadata) == []


def test_every_rule_of_the_models_is_in_the_database_by_its_name(bare_place: str) -> None:
    open_store(bare_place).close()
    with upgrading(bare_place) as connection:
        found = inspect(connection)
        for name, table in Base.metadata.tables.items():
            checks = {
                str(rule.name) for rule in table.constraints if isinstance(rule, CheckConstraint)
            }
            assert {rule["name"] for rule in found.get_check_constraints(name)} == checks
            keys = found.get_foreign_keys(name)
            assert {key["name"] for key in keys} == {
                str(key.name) for key in table.constraints if isinstance(key, ForeignKeyConstraint)
            }
            assert all(key["options"].get("ondelete") == "RESTRICT" for key in keys)
            assert found.get_pk_constraint(name)["name"] == f"pk_{name}"


def test_the_checks_of_a_migrated_file_are_worded_as_in_the_models(store_file: Path) -> None:
    open_store(store_file).close()
    with upgrading(str(store_file)) as connection:
        found = inspect(connection)
        for name, table in Base.metadata.tables.items():
            worded = {
                str(rule.name): str(rule.sqltext)
                for rule in table.constraints
                if isinstance(rule, CheckConstraint)
            }
            migrated = {str(r["name"]): r["sqltext"] for r in found.get_check_constraints(name)}
            assert migrated == worded


@pytest.mark.long
def test_all_tables_with_rows_go_down_and_come_up_again(bare_place: str) -> None:
    with open_store(bare_place) as store:
        fill_every_table(store)
    step(bare_place, command.downgrade, "base")
    with upgrading(bare_place) as connection:
        assert inspect(connection).get_table_names() == [schema_state.REVISION_TABLE]
    with open_store(bare_place) as store:
        fill_every_table(store)


@pytest.mark.long
def test_rebuilding_parent_tables_loses_no_row_up_or_down(
    bare_place: str, next_step: Callable[[str], None]
) -> None:
    with open_store(bare_place) as store:
        fill_every_table(store)
        with store.reading() as session:
            before, fleet = row_counts(session), load_description(session)
    next_step(REBUILDING)
    with open_store(bare_place) as store, store.reading() as session:
        assert row_counts(session) == before
        assert load_description(session) == fleet
        assert session.execute(text("SELECT count(remark) FROM sortie")).scalar() == 0
    step(bare_place, command.downgrade, NEWEST)
    with upgrading(bare_place) as connection:
        columns = {column["name"] for column in inspect(connection).get_columns("sortie")}
        checks = {rule["name"] for rule in inspect(connection).get_check_constraints("sortie")}
        counts = {
            name: connection.execute(text(f"SELECT count(*) FROM {name}")).scalar()
            for name in before
        }
    assert counts == before
    assert "remark" not in columns
    assert checks == {"ck_sortie_track_reference_known", "ck_sortie_weight_kg_positive"}


def test_a_rebuild_with_foreign_keys_on_would_not_pass(
    store_file: Path, next_step: Callable[[str], None]
) -> None:
    with open_store(store_file) as store:
        fill_every_table(store)
    next_step(REBUILDING)
    with pytest.raises(IntegrityError, match="FOREIGN KEY"):
        step(str(store_file), command.upgrade, "head", foreign_keys=True)


@pytest.mark.long
def test_a_copy_of_the_file_is_kept_before_an_upgrade(
    store_file: Path, next_step: Callable[[str], None]
) -> None:
    with open_store(store_file) as store:
        fill_every_table(store)
        with store.reading() as session:
            before = row_counts(session)
    assert [path.name for path in store_file.parent.glob("store*")] == [store_file.name]
    next_step(REBUILDING)
    open_store(store_file).close()
    copy = store_file.with_name(store_file.name + f".before-{NEXT}")
    with closing(sqlite3.connect(copy)) as connection:
        assert connection.execute("SELECT version_num FROM fleetcal_revision").fetchone() == (
            NEWEST,
        )
        counts = {
            name: connection.execute(f"SELECT count(*) FROM {name}").fetchone()[0]
            for name in before
        }
    assert counts == before
    assert sorted(path.name for path in store_file.parent.glob("store*")) == [
        store_file.name,
        copy.name,
    ]


@pytest.mark.long
@pytest.mark.parametrize("script", [FAILING, ORPHANING], ids=["failing", "orphaning"])
def test_an_upgrade_that_fails_leaves_the_store_as_it_was(
    bare_place: str, next_step: Callable[[str], None], script: str
) -> None:
    with open_store(bare_place) as store:
        fill_every_table(store)
        with store.reading() as session:
            before = row_counts(session)
    next_step(script)
    with pytest.raises(StoreError) as caught:
        open_store(bare_place)
    assert "\n" not in caught.value.message
    with upgrading(bare_place) as connection:
        tables = set(inspect(connection).get_table_names())
        columns = {column["name"] for column in inspect(connection).get_columns("sortie")}
        counts = {
            name: connection.execute(text(f"SELECT count(*) FROM {name}")).scalar()
            for name in before
        }
    assert tables == set(Base.metadata.tables) | {schema_state.REVISION_TABLE}
    assert "remark" not in columns
    assert counts == before


def test_a_current_store_opens_without_the_upgrade_steps(
    store_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_store(store_file).close()

    def missing() -> Path:
        raise AssertionError("looked for the upgrade steps")

    monkeypatch.setattr(upgrade, "scripts_folder", missing)
    with open_store(store_file) as store, store.writing() as session:
        assert save_description(session, FLEET).added > 0


def test_the_upgrade_steps_are_looked_for_beside_the_package_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    module = tmp_path / "fleetcal" / "store" / "upgrade.py"
    monkeypatch.setattr(upgrade, "__file__", str(module))
    with pytest.raises(StoreError, match="missing from this installation"):
        upgrade.scripts_folder()
    for folder in (tmp_path / "migrations", tmp_path / "fleetcal" / "migrations"):
        folder.mkdir(parents=True)
        (folder / "env.py").touch()
        assert upgrade.scripts_folder() == folder
