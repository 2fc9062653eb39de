"""How a field of a result is called where it is printed.

One record serves every quantity, so its fields have no unit in their names; a
printed name has one. The name to print stands with the field as a template that
the words of the quantity complete: ``departure_{unit}`` is ``departure_kt`` of a
position error and ``departure_ftmin`` of a climb.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import Field
from typing import Any, Final

#: Where a field is printed: for the position error alone, or for all quantities but that.
POSITION_ERROR_ONLY: Final = "position error"
PERFORMANCE_ONLY: Final = "performance"
#: Metadata of a field that no output has.
NEVER_PRINTED: Final = {"only": "never"}


def printed(name: str = "", *, only: str = "", text: str = "") -> Mapping[str, str]:
    """Return the metadata of a field that has another name where it is printed.

    Args:
        name: Template; the field's own name if empty.
        only: One of the two words above, if not every quantity has it.
        text: One of the two, for what a record in this field is printed as its sentence.
    """
    return {"name": name, "only": only, "text": text}


def printed_value(record: Any, name: str, words: Mapping[str, str]) -> Any:
    """Return what is printed of a field: its value, or the sentences of the records in it."""
    value = getattr(record, name)
    one = getattr(record, "__dataclass_fields__", {}).get(name)
    text = one.metadata.get("text", "") if one is not None else ""
    return [str(inner) for inner in value] if text and text == words.get("only") else value


def printed_name(one: Field[Any], words: Mapping[str, str]) -> str | None:
    """Return the name under which a field is printed, None if it is not.

    Args:
        words: Of the quantity that the result tells of; empty for other results.
    """
    only = one.metadata.get("only", "")
    if only and only != words.get("only"):
        return None
    return str(one.metadata.get("name") or one.name).format_map(words)
