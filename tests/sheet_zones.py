"""Zones of one's own read by the reader of the build sheet, for tests of the gaskets."""

from __future__ import annotations

import dataclasses
from typing import Any

from sealkit import build
from sealkit.errors import Fault, InputError
from sealkit.sealing.gaskets import Zone

OWN = {"gasket.construction": "own", "gasket.creep_relaxation": 0.05}


def read_zones(raw: Any, path: str = "gasket.zones") -> tuple[tuple[Zone, ...], list[Fault]]:
    """Zones of rows as they stand on a sheet, and the faults of the rows, told under `path`."""
    try:
        return build.demo("boosted-four").vary({**OWN, "gasket.zones": raw}).gasket.zones, []
    except InputError as err:
        own = [f for f in err.faults if f.field.startswith("gasket.zones")]
        assert len(own) == len(err.faults), "zones leave the rest of the sheet alone"
        return (), [
            dataclasses.replace(f, field=path + f.field.removeprefix("gasket.zones")) for f in own
        ]
