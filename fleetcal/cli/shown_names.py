"""Names for what was not described, as short as a reader needs them.

In the store they hold the tag, so that no two airframes share one; JSON and CSV have them whole.
"""

from __future__ import annotations

import re
from typing import Final

_TAG: Final = r"\((?P<tag>[^()\n]*)\)"
_SAME: Final = r"\((?P=tag)\)"
_PAIRING: Final = rf"engine not described yet {_SAME}(?:,| /) propeller not described yet {_SAME}"
_PORT: Final = rf"static source not described yet {_TAG}(?:,| /) {_PAIRING}"
_TYPE_TOO: Final = re.compile(
    rf"type not described yet {_TAG}, static source not described yet {_SAME}(?:,| /) {_PAIRING}"
)
_EQUIPMENT: Final = re.compile(_PORT)
_ONE: Final = re.compile(r"(?:type|static source|engine|propeller) not described yet \([^()\n]*\)")
_ANY_DAY: Final = "1900-01-01"


def in_shorter_names(text: str) -> str:
    """Return a sentence with names for what was not described as short as may be."""
    if _ANY_DAY in text:
        text = re.sub(rf"\b(?:fitted )?on {_ANY_DAY}", "fitted from the start", text)
        text = text.replace(_ANY_DAY, "the start")
    if " not described yet (" not in text:
        return text
    text = _TYPE_TOO.sub(r"type and equipment not described yet (\g<tag>)", text)
    text = _EQUIPMENT.sub(r"equipment not described yet (\g<tag>)", text)
    return text.replace("type type not", "type not")


def in_shorter_cell(text: str) -> str:
    """Return a cell of a table, whose heading states what was not described."""
    if text == _ANY_DAY:
        return "start"
    return "not described yet" if _ONE.fullmatch(text) else in_shorter_names(text)
