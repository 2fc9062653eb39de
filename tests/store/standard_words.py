"""Which words of SQL the program may send to a server, and why those that no standard has."""

from __future__ import annotations

import re
from collections.abc import Iterable

from fleetcal.store.engines import postgresql_guard
from fleetcal.store.models import Base
from fleetcal.store.schema_state import REVISION_TABLE

# ISO/IEC 9075 (SQL), parts 2 and 11: reserved and other key words, from memory.
_WORDS = """
SELECT DISTINCT FROM WHERE AND OR NOT IN IS NULL EXISTS BETWEEN LIKE CASE WHEN THEN ELSE END AS ON
JOIN LEFT OUTER INNER GROUP BY HAVING ORDER ASC DESC UNION ALL CAST COALESCE TRUE FALSE COUNT SUM
MIN MAX AVG LOWER UPPER LENGTH TRIM INSERT INTO VALUES DEFAULT UPDATE SET DELETE FOR OF CREATE TABLE
ALTER ADD DROP COLUMN CONSTRAINT PRIMARY KEY FOREIGN REFERENCES UNIQUE CHECK RESTRICT CASCADE
TRIGGER FUNCTION RETURNS LANGUAGE BEFORE EACH ROW EXECUTE SESSION_USER
VARCHAR CHARACTER INTEGER BIGINT FLOAT DOUBLE PRECISION BOOLEAN DATE TIMESTAMP WITH TIME ZONE LOCAL
"""
STANDARD = frozenset(_WORDS.split())
# Beyond the standard, each with its reason. SQLAlchemy also writes "::", its driver's casts of
# bound values, and asks pg_catalog which tables are there. REPEATABLE READ READ ONLY, the
# standard's own words, is in effect PostgreSQL's snapshot.
BEYOND = {
    "RETURNING": "no standard way tells the number that a new row was given",
    "SERIAL": "numbers given by the server; identity columns would need every table rebuilt",
    "INDEX": "no standard has indexes, every engine does",
    "TEXT": "text without a length: not in the standard, in every engine",
    "BYTEA": "pieces of kept logs; the standard calls it BLOB, which PostgreSQL lacks",
    "LIMIT": "whether there is any row; SQLAlchemy does not write the standard's FETCH FIRST",
    "REPLACE": "a function of triggers is made anew by every upgrade",
    "PLPGSQL": "the language of triggers on the one server that they are written for",
    "SEARCH_PATH": "so that no other function can be slipped into a trigger",
    "DISABLE": "triggers that keep the history are lifted while a backup replaces it",
    "ENABLE": "and are put back within the same transaction, see DISABLE",
    "USER": "the triggers that DISABLE means: ours, not those of foreign keys",
    "IF": "a trigger that may be there is dropped before it is made anew",
    "SHARE": "a row that several writers lock together; the standard has no row locks of readers",
    "LOCK": "whoever needs the whole store waits in a queue, which row locks do not keep",
    "EXCLUSIVE": "the mode of that lock, which lets everybody read",
    "MODE": "the word that follows it",
    "LOCK_TIMEOUT": "how long to wait for another writer; without it a command would hang",
    "SETVAL": "new rows are numbered after those of a restored backup; RESTART needs the owner",
    "NEXTVAL": "numbers of many rows at once, which no other program is given",
    "GENERATE_SERIES": "so many of them, for NEXTVAL",
    "PG_GET_SERIAL_SEQUENCE": "the counter of a table, for SETVAL and NEXTVAL",
}
# What SQLAlchemy and its dialect ask about the server itself, word for word or by its schema.
OWN_QUESTIONS = re.compile(
    r"pg_catalog\.|\bpg_class as c join pg_depend\b"
    r"|^select current_schema\(\)$|^show (standard_conforming_strings"
    r"|transaction isolation level)$|^select 1$",
    re.IGNORECASE,
)
# Bodies of functions, texts, names in quotes, bound values; names that a statement gives columns.
_NO_WORDS = re.compile(r"(?s:\$\$.*?\$\$)|'(?:[^']|'')*'|\"[^\"]*\"|%\(\w+\)s|%s|--[^\n]*")
_GIVEN = re.compile(r"\bAS (\w+)(?![\w)])")
_NUMBERED = re.compile(r"(ANON_|P|SEN_|PARAM_)\w*\d|(UQ|CK|FK|PK|IX)_\w+|SEN_COUNTER")
_WORD = re.compile(r"[A-Za-z_][A-Za-z_0-9]*")


def our_names() -> frozenset[str]:
    """Names of tables, columns, constraints and indexes, in capitals."""
    names = {REVISION_TABLE, "version_num", f"{REVISION_TABLE}_pkc"}
    names |= {
        *postgresql_guard.FUNCTIONS,
        *postgresql_guard.SERVER,
        "pg_temp",
        "pg_catalog",
        "p",
        "t",
    }
    names |= {"shared"}  # a column of older revisions
    names |= {"remark", "later", "nowhere"}  # of the upgrade steps that tests make up
    for table in Base.metadata.sorted_tables:
        names |= {table.name, *(column.name for column in table.columns)}
        names |= {str(one.name) for one in table.constraints} | {
            str(one.name) for one in table.indexes
        }
    return frozenset(name.upper() for name in names)


def foreign_words(statement: str, names: Iterable[str] = ()) -> set[str]:
    """Return the words of a statement that no standard has, nor this program a reason for."""
    if OWN_QUESTIONS.search(statement.strip()):
        return set()
    given = {name.upper() for name in _GIVEN.findall(statement)}
    words = {word.upper() for word in _WORD.findall(_NO_WORDS.sub(" ", statement))}
    known = STANDARD | BEYOND.keys() | set(names) | given
    return {word for word in words - known if not _NUMBERED.fullmatch(word)}
