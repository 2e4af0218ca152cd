"""What numba asks itself again and again while it compiles, answered once.

To type `a + b` numba tries, each time anew, every rule it has for `+`; our kernels ask some
thousands of such questions and some hundreds of different ones. What the answer is depends on the
operation, the types and the options alone, so what is compiled is the same to the last byte.
"""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator
from typing import Any

from numba.core.targetconfig import ConfigStack
from numba.core.types.functions import BaseFunction

_ALONE = threading.RLock()
"""numba compiles in one thread at a time too."""


def _options() -> tuple[Any, ...]:
    """Give the options under which numba compiles just now, as far as somebody set them."""
    told = ConfigStack.top_or_none()
    return () if told is None else tuple((name, repr(one)) for name, one in told._values.items())


@contextlib.contextmanager
def remembered() -> Iterator[None]:
    """Remember how operations were typed, as long as something compiles in this process."""
    with _ALONE, _asked_once():
        yield


@contextlib.contextmanager
def _asked_once() -> Iterator[None]:
    operations: Any = BaseFunction
    ask = operations.get_call_type
    known: dict[tuple[Any, ...], tuple[Any, ...]] = {}

    def answer(self: Any, context: Any, args: Any, kws: Any) -> Any:
        if kws:
            return ask(self, context, args, kws)
        # numba has one object a type, which is kept here, so that its place names it
        asked = (id(self), id(context), *map(id, args), _options())
        if asked not in known:
            known[asked] = (ask(self, context, args, kws), self, context, args)
        return known[asked][0]

    operations.get_call_type = answer
    try:
        yield
    finally:
        operations.get_call_type = ask
