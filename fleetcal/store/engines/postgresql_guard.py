"""Triggers of a PostgreSQL server that keep the history as it was written.

Beside refusing changes and deletions they write person and moment of a change, number and hash
its link under a lock that lasts to the end of the transaction, and leave the row with the
store's revision to its owner; writers only lock it.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import Connection

from fleetcal.store.engines.guard import KEPT, REFUSAL, Guard

_REVISIONS: Final = "fleetcal_revision"
# As the owner's own names alone are looked up, nobody can slip another function in.
_TAIL: Final = "LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp"
#: Bodies of the server's functions, by name.
FUNCTIONS: Final = {
    "fleetcal_only_added": f"BEGIN RAISE EXCEPTION '{REFUSAL}' USING ERRCODE = '42501'; END",
    "fleetcal_signed": "BEGIN NEW.made_by := session_user; NEW.name_from := 'server';"
    " NEW.made_at := clock_timestamp(); NEW.undone := ''; RETURN NEW; END",
    "fleetcal_linked": "DECLARE before text; last integer; BEGIN"
    " PERFORM pg_advisory_xact_lock(hashtext('fleetcal_history'), TG_RELID::integer);"
    " EXECUTE format('SELECT id, hash FROM %I.%I ORDER BY id DESC LIMIT 1',"
    " TG_TABLE_SCHEMA, TG_TABLE_NAME) INTO last, before;"
    " NEW.id := coalesce(last, 0) + 1;"
    " NEW.hash := encode(sha256(convert_to(concat_ws(E'\\n',"
    f" coalesce(before, '{'0' * 64}'), NEW.id::text, coalesce(NEW.store_change_id::text, ''),"
    " NEW.note, NEW.content), 'UTF8')), 'hex'); RETURN NEW; END",
    "fleetcal_owned": "BEGIN IF pg_has_role(current_user, (SELECT relowner FROM pg_class"
    " WHERE oid = TG_RELID), 'USAGE') THEN IF TG_OP = 'DELETE' THEN RETURN OLD; END IF;"
    " RETURN NEW; END IF; RAISE EXCEPTION 'the revision is its owner''s to change'"
    " USING ERRCODE = '42501'; END",
}
#: Triggers of the server: table, when, and function.
SERVER: Final = {
    **{
        f"{table}_stays": (table, "BEFORE UPDATE OR DELETE", "fleetcal_only_added")
        for table in KEPT
    },
    "store_change_signed": ("store_change", "BEFORE INSERT", "fleetcal_signed"),
    "history_link_linked": ("history_link", "BEFORE INSERT", "fleetcal_linked"),
    f"{_REVISIONS}_owned": (_REVISIONS, "BEFORE UPDATE OR DELETE", "fleetcal_owned"),
}


class PostgresqlGuard(Guard):
    """Nobody but the owner of the tables can lift it."""

    links = True

    def put_up(self, connection: Connection) -> None:
        """Make the functions anew, and the triggers that are not there."""
        for name, body in FUNCTIONS.items():
            head = f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger {_TAIL}"
            connection.exec_driver_sql(f"{head} AS $${body.replace('%', '%%')}$$")
        for name in self.missing(connection):
            table, when, function = SERVER[name]
            each = f"FOR EACH ROW EXECUTE FUNCTION {function}()"
            connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name} ON {table}")
            connection.exec_driver_sql(f"CREATE TRIGGER {name} {when} ON {table} {each}")

    def take_down(self, connection: Connection) -> None:
        """Remove triggers and functions."""
        for name, (table, *_) in SERVER.items():
            connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name} ON {table}")
        for name in FUNCTIONS:
            connection.exec_driver_sql(f"DROP FUNCTION IF EXISTS {name}()")

    def lift(self, connection: Connection) -> None:
        """Switch the triggers off within the transaction."""
        for table in KEPT:
            connection.exec_driver_sql(f"ALTER TABLE {table} DISABLE TRIGGER USER")

    def put_back(self, connection: Connection) -> None:
        """Switch them on again."""
        for table in KEPT:
            connection.exec_driver_sql(f"ALTER TABLE {table} ENABLE TRIGGER USER")

    def missing(self, connection: Connection) -> list[str]:
        """Return the names of those that are not there, or switched off."""
        query = (
            "SELECT t.tgname FROM pg_catalog.pg_trigger t JOIN pg_catalog.pg_class c"
            " ON c.oid = t.tgrelid WHERE t.tgenabled = 'O'"
            " AND pg_catalog.pg_table_is_visible(c.oid)"
        )
        there = {row[0] for row in connection.exec_driver_sql(query)}
        return [name for name in SERVER if name not in there]
