"""The gasket of a build, between its head and block, sized for one bore."""

from __future__ import annotations

import contextlib
import dataclasses
import functools
from collections.abc import Iterator
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.build import Build
from sealkit.errors import InputError, fail
from sealkit.sealing import constructions, gaskets, grooves


def gasket_of(build: Build) -> gaskets.Gasket:
    """The gasket of a build, sized for one bore."""
    g = build.gasket
    sizes = (np.pi * g.seal_diameter, g.body_area, g.liquid_length)
    if g.zones:
        made = whole_gasket(build).sized(*sizes)
    else:
        with _faces_named():
            made = _sized(g.construction, tuple(mating(build).items()), *sizes)
    if g.seal_load_factor is None and g.body_load_factor is None:
        return made
    return _as_tested(made, g.seal_load_factor or 1.0, g.body_load_factor or 1.0)


@functools.lru_cache(maxsize=64)
def _as_tested(gasket: gaskets.Gasket, seal: float, body: float) -> gaskets.Gasket:
    """The gasket with the loads of its seals and of its body by these factors at each closure.

    What a seal wants and what crushes a zone is of its material and stays.
    """
    by = {"seal": seal, "body": body, "liquid": 1.0}
    zones = tuple(
        dataclasses.replace(
            z,
            load=by[z.role] * z.load,
            unloading=tuple((c, by[z.role] * f) for c, f in z.unloading),
        )
        for z in gasket.zones
    )
    return dataclasses.replace(gasket, zones=zones)


def whole_gasket(build: Build) -> gaskets.Gasket:
    """The gasket of a build with all its zones, not sized."""
    if build.gasket.zones:
        return gaskets.Gasket(build.gasket.construction, build.gasket.zones)
    with _faces_named():
        return constructions.make(build.gasket.construction, **mating(build))


def body_over_ring(build: Build) -> Any:
    """How much thicker body than ring is made [m]; None without a steel ring beside a body."""
    g = build.gasket
    if g.zones or g.construction != constructions.FibreSteelRing.name:
        return None
    return _drawn_over_ring() if g.body_over_ring is None else g.body_over_ring


@functools.cache
def _drawn_over_ring() -> float:
    """The same as the construction has it."""
    made = constructions.FibreSteelRing.from_table()
    return made.body_thickness - made.ring_thickness


def made_thinner(build: Build, gasket: gaskets.Gasket) -> dict[str, Any]:
    """Zones that the sheet makes thinner than their construction, by how much [m]."""
    if build.gasket.body_over_ring is None:
        return {}
    by = _drawn_over_ring() - body_over_ring(build)
    return {z.name: by for z in gasket.others if z.role == "body"}


# which part of the sheet a construction's face is
_FACES = {
    "head_material": "head.material",
    "block_material": "block.material",
    "groove_material": "head.material or block.material",
    "receiver_material": "head.material or block.material",
    "sheet_thickness": "gasket.compressed_thickness",
}


@contextlib.contextmanager
def _faces_named() -> Iterator[None]:
    """Faults of a face come out under the name of the sheet's field."""
    try:
        yield
    except InputError as err:
        raise InputError(
            dataclasses.replace(f, field=_FACES.get(f.field, f.field)) for f in err.faults
        ) from err


@functools.lru_cache(maxsize=64)
def _sized(name: str, faces: tuple[tuple[str, str], ...], *sizes: float) -> gaskets.Gasket:
    """A construction on one bore, kept, since its unloading paths take time to prepare."""
    return constructions.make(name, **dict(faces)).sized(*sizes)


def ring_faces(build: Build) -> tuple[str, str]:
    """Faces that hold wire and receiver of a ring, "head" and "block": the softer one the wire.

    Where the hardness of one is not known, the head holds the wire.
    """
    faces = {"head": build.head.material, "block": build.block.material}
    if all(m in tables.load("face_hardness") for m in faces.values()):
        chosen = grooves.groove_faces(**faces)
        return chosen.wire, chosen.receiver
    return "head", "block"


def mating(build: Build) -> dict[str, str]:
    """What a construction takes from the sheet: head and block if it bites into them, and the
    thickness of a copper sheet, which clamping leaves as it is. Raises InputError for several
    thicknesses of copper at once: each is a gasket of its own.
    """
    name = build.gasket.construction
    wanted = constructions.kind(name).parameters() if name in constructions.names() else {}
    known = tables.load("flow")
    faces = {"head": build.head.material, "block": build.block.material}
    wire, receiver = ring_faces(build)
    pairs = {
        "head_material": faces["head"],
        "block_material": faces["block"],
        "groove_material": faces[wire],
        "receiver_material": faces[receiver],
    }
    out = {k: v for k, v in pairs.items() if k in wanted and v in known and known[v]["hardness"]}
    if of_one_sheet(build):
        thickness = build.gasket.compressed_thickness
        if np.ndim(thickness):
            raise fail("gasket.compressed_thickness", "several at once", "one, of a copper sheet")
        out["sheet_thickness"] = f"{thickness} m"
    return out


def of_one_sheet(build: Build) -> bool:
    """Whether the gasket is one sheet of copper, as thick clamped as before."""
    name = build.gasket.construction
    return (
        name in constructions.names() and "sheet_thickness" in constructions.kind(name).parameters()
    )
