"""Values as TOML on one line, as the sheet is written and as messages show them."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from typing import Any

_BARE = re.compile(r"[A-Za-z0-9_-]+\Z")


def toml(value: Any) -> str:
    """A value as TOML on one line.

    >>> print(toml([{"diameter": "10 mm", "length": 2}]))
    [{ diameter = "10 mm", length = 2 }]
    """
    if isinstance(value, str):
        body = value.replace("\\", "\\\\").replace('"', '\\"')
        body = body.replace("\n", "\\n").replace("\t", "\\t").replace("\r", "\\r")
        return '"' + re.sub(r"[\x00-\x1f\x7f]", lambda m: f"\\u{ord(m[0]):04X}", body) + '"'
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(int(value))
    if isinstance(value, float):
        return repr(float(value))
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, Mapping):
        inner = ", ".join(f"{toml_key(str(k))} = {toml(v)}" for k, v in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(toml(v) for v in value)}]"
    raise TypeError(f"a sheet cannot hold {type(value).__name__}")


def toml_key(key: str) -> str:
    """A key as TOML, in quotes where it needs them."""
    return key if _BARE.match(key) else toml(key)
