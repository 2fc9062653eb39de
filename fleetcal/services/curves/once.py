"""What is asked again of the same points is worked out once.

A site judges and fits the points of a type for its groups, for its climbs and for each airframe
that was flown with a port of its own; served pages ask the same from page to page. Each place
reads and asks for itself. The answers asked for last are kept as long as the program runs, and
with them what was worked out from them: their bands. An answer belongs to the values that it was
made of and to no store, so nothing has to be forgotten when a store changes.
"""

from __future__ import annotations

import hashlib
import pickle
from collections import OrderedDict
from collections.abc import Callable
from threading import Lock
from typing import Any, Final, ParamSpec, TypeVar

Given = ParamSpec("Given")
Answer = TypeVar("Answer")
_Key = tuple[Callable[..., Any], bytes]

#: Answers that are kept: a site of two types asks for fewer.
MOST_KEPT: Final = 24

_kept: Final[OrderedDict[_Key, Any]] = OrderedDict()
_one_at_a_time: Final = Lock()


def once(work: Callable[Given, Answer], *args: Given.args, **more: Given.kwargs) -> Answer:
    """Return what a function makes of values, or what it made of the same values before.

    Args:
        work: Gives the same for the same values; nobody alters what it gives.

    Raises:
        Exception: As `work`, which is then asked again the next time.
    """
    key = (work, hashlib.sha256(pickle.dumps((args, sorted(more.items())))).digest())
    with _one_at_a_time:
        if key in _kept:
            _kept.move_to_end(key)
            known: Answer = _kept[key]
            return known
    answer = work(*args, **more)
    with _one_at_a_time:
        _kept[key] = answer
        _kept.move_to_end(key)
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    return answer
