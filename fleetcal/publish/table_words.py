"""Words that every format of a table uses: headings of columns, facts about the table."""

from __future__ import annotations

from fleetcal.plain_text import one_line
from fleetcal.publish.cautions import CURVE_ASSUMPTION, LIMIT_CAUTION, PITOT_ASSUMPTION
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_limit import (
    TableLimit,
    beyond_words,
    lowest_bound,
    printed_limit,
    titled,
)
from fleetcal.wording import counted


def title_words(table: PooledTable) -> str:
    """Return type and static source, of one airframe after its tag."""
    tag = "" if table.airframe is None else f"{table.airframe.tag}, "
    return one_line(f"{tag}{table.type_name}, {table.static_source}")


def held_for_words(table: PooledTable) -> str:
    """Return pairing, flap setting and weight, for which alone it holds, and who was left out."""
    pairing = one_line(table.pairing)
    without = f" Without {'; '.join(table.without)}." if table.without else ""
    return one_line(
        f"{pairing[:1].upper()}{pairing[1:]}. Flaps {table.flap_setting}. "
        f"Weight {table.weight_kg:.0f} kg.{without}"
    )


def relation_words(form: TableForm) -> str:
    """Return how to use the numbers."""
    if form.from_cas:
        return "IAS = CAS − correction. Bands are of the IAS that shows the CAS."
    return "Add the correction to the reading: CAS = IAS + correction."


def fact_words(table: PooledTable) -> tuple[tuple[str, str], ...]:
    """Return what stands behind a table, as names and sentences; none is empty.

    Returns:
        Tuple of (name, sentence).
    """
    facts = (
        *_limits(table),
        _behind(table),
        ("Model", table.model),
        ("Assumptions", f"{PITOT_ASSUMPTION} {table.pitot} {CURVE_ASSUMPTION}"),
        ("Altitude", table.altitude_statement),
        ("Yardsticks", table.yardstick.removeprefix("Yardsticks, ")),
        ("Issue", _issue(table)),
        ("Made on", f"{table.made_on.isoformat()}, by fleetcal {table.program_version}"),
    )
    return tuple((name, one_line(words)) for name, words in facts if words.strip())


def _limits(table: PooledTable) -> list[tuple[str, str]]:
    """Return each limit on this port with where it comes from, and what it is worth."""
    if not table.limits:
        return []
    unit = table.form.speed_unit

    def weight(limit: TableLimit) -> str:
        return ", at all weights flown" if limit.bound else f" at {table.weight_kg:.0f} kg"

    limits = [
        (
            titled(limit),
            f"{printed_limit(limit, table.form)} {unit} IAS on this port{weight(limit)}. "
            f"{limit.reasons}.",
        )
        for limit in table.limits
    ]
    return [*limits, ("Limits", LIMIT_CAUTION)]


def bound_words(table: PooledTable) -> str:
    """Return what stands above the first line that is not for flying; empty without a bound."""
    bound = lowest_bound(table.limits)
    return "" if bound is None else one_line(beyond_words(bound, table.form))


def short_limits(table: PooledTable) -> str:
    """Return the limits on this port as names and figures; empty if none is known."""
    return one_line(
        "; ".join(f"{limit.name} {printed_limit(limit, table.form)}" for limit in table.limits)
    )


def _issue(table: PooledTable) -> str:
    mark = table.issue
    if mark is None:
        return ""
    why = f": {mark.why}" if mark.why.strip() else ""
    return f"{mark.title}{why}. What went in has the SHA-256 {mark.inputs_sha256}."


def _behind(table: PooledTable) -> tuple[str, str]:
    if table.airframe is not None:
        return "Rests on", " ".join(f"{words}." for words in table.airframe.rests_on)
    return "Pooled", ", ".join(
        (
            counted(table.airframe_count, "aircraft", "aircraft"),
            counted(table.sortie_count, "sortie", "sorties"),
            counted(table.point_count, "point", "points"),
        )
    )
