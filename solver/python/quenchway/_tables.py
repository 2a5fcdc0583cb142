"""Tables of a case as TOML text."""

from collections.abc import Iterator, Mapping
from datetime import date, time
from decimal import Decimal
from typing import Any

import tomli_w

KNOWN = (str, bool, int, float, date, time, Decimal)


def written(tables: Mapping[str, Any]) -> str:
    """Raises `TypeError` with the place of a key or a value that TOML does not have."""
    try:
        return tomli_w.dumps(tables)
    except TypeError:
        for place, kind in foreign(tables):
            raise TypeError(f"{place}: a {kind} has no place in a case; write a text with its unit, a list or a table") from None
        raise
    except RecursionError:
        raise ValueError("tables this deep in each other are no case") from None


def foreign(value: Any, place: str = "") -> Iterator[tuple[str, str]]:
    """Place and type of every key and value that TOML does not have."""
    if isinstance(value, Mapping):
        for key, inner in value.items():
            if isinstance(key, str):
                yield from foreign(inner, f"{place}.{key}" if place else key)
            else:
                yield f"{place or 'the tables'}, key {key!r}", type(key).__name__
    elif isinstance(value, (list, tuple)):
        for index, inner in enumerate(value):
            yield from foreign(inner, f"{place}[{index}]")
    elif not isinstance(value, KNOWN):
        yield place, type(value).__name__
