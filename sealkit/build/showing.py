"""A build as it is shown: rounded, in the shop's units, as nested text or a small table."""

from __future__ import annotations

import html
from collections.abc import Mapping
from typing import Any

from sealkit.build.fields import FIELDS
from sealkit.build.rules import NEEDED_BY
from sealkit.build.values import readable
from sealkit.build.writing import put, row_values


def nested(held: Mapping[str, Any], system: str) -> dict[str, Any]:
    """Values by dotted name as nested text in the shop's units."""
    out: dict[str, Any] = {}
    for path, value in held.items():
        kind = FIELDS[path].kind
        if kind == "rows":
            rows = (row_values(path, row) for row in value)
            told: Any = [{key: readable(v, own, system) for key, own, v in row} for row in rows]
        else:
            told = readable(value, kind, system)
        put(out, path, told)
    return out


def html_table(d: Mapping[str, Any], compression_ratio: float, blend: str) -> str:
    """A small table of a build."""
    e, f, g = d["engine"], d["fasteners"], d["gasket"]
    ratio = "lambda" if "lambda" in d["fuel"] else "equivalence_ratio"
    how = [f["tightening"], *(f[k] for k in NEEDED_BY[f["tightening"]])]
    late = " or later, as knock allows" if d["burn"]["timing"] == "knock limited" else ""
    rows = {
        "engine": f"{e['cylinders']} cylinders, {e['strokes']}-stroke, "
        f"{e['bore']} × {e['stroke']}, compression {compression_ratio:.2f}:1",
        "load point": f"{e['speed']}, boost {d['charge']['boost']}",
        "fuel": f"{blend}, {ratio.replace('_', ' ')} {d['fuel'][ratio]}",
        "burn": f"CA50 {d['burn']['ca50']} after top dead centre{late}, "
        f"10 to 90 % in {d['burn']['duration']}",
        "fasteners": f"{f['on_head']} {f['kind']}s {f['thread']} on a head, "
        f"{f['around_bore']} around a bore; {', '.join(how)}",
        "head and block": f"{d['head']['material']}, {d['block']['material']}",
        "gasket": f"{g['construction']}, seal diameter {g['seal_diameter']}, "
        f"{g['compressed_thickness']} compressed",
        "numbers": d["sheet"]["status"],
    }
    if d["sheet"]["note"]:
        rows["note"] = d["sheet"]["note"]
    cells = "".join(
        f'<tr><th scope="row">{html.escape(k)}</th><td>{html.escape(v)}</td></tr>'
        for k, v in rows.items()
    )
    name = html.escape(d["sheet"]["name"])
    return f"<table><caption>{name}</caption><tbody>{cells}</tbody></table>"
