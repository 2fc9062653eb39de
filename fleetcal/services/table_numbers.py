"""Numbers as people and spreadsheets write them: decimal commas, thousands, other units."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from fleetcal.units import TO_SI, from_si, to_si

_BLANKS: Final = re.compile(r"(?<=\d)[\u00a0\u202f\u2009 ](?=\d{3}(\D|$))")
_SIGNS: Final = str.maketrans({"\u2212": "-", "\u2013": "-"})
_NUMBER: Final = re.compile(r"[+-]?(\d+([.,]\d*)*|[.,]\d+)([eE][+-]?\d+)?")
_THOUSANDS: Final = {
    ",": re.compile(r"[+-]?[1-9]\d{0,2}(,\d{3})+"),
    ".": re.compile(r"[+-]?[1-9]\d{0,2}(\.\d{3})+"),
}
_OTHER: Final = {",": ".", ".": ","}
#: What stands in a cell of numbers for no number.
_NOTHING: Final = frozenset({"-", "--", "---", "\u2013", "\u2014", "n/a", "#n/a", "na"})


class DoubtfulNumberError(ValueError):
    """A number that can be read in two ways."""


@dataclass(frozen=True)
class DecimalSigns:
    """Which signs are seen to part whole numbers from decimals in a table."""

    comma: bool
    point: bool

    def plain(self, text: str) -> str:
        """Return a number with a decimal point and nothing else, other text as it is.

        Raises:
            DoubtfulNumberError: If a sign may part decimals or thousands.
        """
        cell = _BLANKS.sub("", text.translate(_SIGNS))
        if not _NUMBER.fullmatch(cell):
            return "" if text.lower() in _NOTHING else text
        if "," not in cell and not (self.comma and "." in cell):
            return cell
        if "," in cell and "." in cell:
            decimal = "," if cell.rfind(",") > cell.rfind(".") else "."
            head, _, tail = cell.rpartition(decimal)
            grouped = _THOUSANDS[_OTHER[decimal]].fullmatch(head)
            return f"{head.replace(_OTHER[decimal], '')}.{tail}" if grouped else text
        return self._with_one_sign(cell, text)

    def _with_one_sign(self, cell: str, text: str) -> str:
        sign = "," if "," in cell else "."
        other = self.point if sign == "," else self.comma
        own = self.comma if sign == "," else self.point
        if not _THOUSANDS[sign].fullmatch(cell):
            return cell.replace(",", ".") if cell.count(sign) == 1 else text
        if cell.count(sign) > 1 or (other and not own):
            return cell.replace(sign, "")
        if own and not other:
            return cell.replace(",", ".")
        raise DoubtfulNumberError(text)


def decimal_signs(cells: Iterable[str]) -> DecimalSigns:
    """Look for signs that can part decimals only: `97,5` shows it, `1,500` may be either."""
    found = set()
    for text in cells:
        for sign, grouped in _THOUSANDS.items():
            alone = sign in text and _OTHER[sign] not in text
            if alone and text.count(sign) == 1 and not grouped.fullmatch(text):
                if _NUMBER.fullmatch(text.translate(_SIGNS)):
                    found.add(sign)
            elif sign in text and _OTHER[sign] in text and _NUMBER.fullmatch(text):
                found.add("," if text.rfind(",") > text.rfind(".") else ".")
    return DecimalSigns("," in found, "." in found)


def in_unit(text: str, given: str, needed: str, is_difference: bool) -> str:
    """Return a plain number in another unit, other text as it is.

    Args:
        given, needed: As `fleetcal.units` names them.
        is_difference: Whether a step of temperature is meant, and no temperature.
    """
    try:
        value = float(text)
    except ValueError:
        return text
    if is_difference:
        return f"{value * TO_SI[given][0] / TO_SI[needed][0]:.12g}"
    return f"{from_si(to_si(value, given), needed):.12g}"
