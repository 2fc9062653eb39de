"""Numbers and names in sentences: counts with their noun, decimals, p-values, lists."""

from __future__ import annotations

from collections.abc import Sequence

#: Below this a p-value is given as below it.
_LEAST_P = 0.001


def counted(number: int, one: str, many: str = "") -> str:
    """Return a number with its noun, such as ``1 sortie`` or ``3 sorties``.

    Args:
        one: The noun in the singular.
        many: The plural; the singular with an s when left out.
    """
    return f"{number} {one if number == 1 else many or f'{one}s'}"


def there_are(number: int, one: str, many: str = "") -> str:
    """Return how many there are, as a sentence begins.

    Returns:
        For example ``There is 1 issue`` or ``There are no issues``.
    """
    if number == 0:
        return f"There are no {many or f'{one}s'}"
    return f"There {'is' if number == 1 else 'are'} {counted(number, one, many)}"


def listed(names: Sequence[str], most: int = 4) -> str:
    """Return names as a sentence lists them.

    Args:
        most: Of more than these the rest is counted.

    Returns:
        For example ``C-03, C-14 and C-20`` or ``C-03, C-14 and 5 more``.
    """
    shown = (
        [*names] if len(names) <= most else [*names[: most - 1], f"{len(names) - most + 1} more"]
    )
    return " and ".join([", ".join(shown[:-1]), shown[-1]]) if len(shown) > 1 else "".join(shown)


def decimal(value: float, places: int = 1) -> str:
    """Return a number with a fixed count of decimals and an ASCII sign, never minus zero.

    Args:
        places: Decimals.

    Returns:
        For example ``-1.3``.
    """
    text = f"{value:.{places}f}"
    return text.removeprefix("-") if float(text) == 0.0 else text


def with_sign(value: float, places: int = 1) -> str:
    """Return a number with its sign in ASCII; a rounded zero has none.

    Args:
        places: Decimals.

    Returns:
        For example ``+0.8`` or ``0.0``.
    """
    text = decimal(value, places)
    return text if text.startswith("-") or float(text) == 0.0 else f"+{text}"


def percent(share: float) -> str:
    """Return a plain p-value or another small share in percent.

    Args:
        share: 0 to 1.

    Returns:
        For example ``3.2 %`` or ``less than 0.1 %``.
    """
    return "less than 0.1 %" if share < _LEAST_P else f"{100.0 * share:.1f} %"


def p_words(p_value: float) -> str:
    """Return a p-value, adjusted or not, as a number and never as a chance.

    Returns:
        For example ``0.240`` or ``below 0.001``.
    """
    return f"below {_LEAST_P}" if p_value < _LEAST_P else f"{p_value:.3f}"
