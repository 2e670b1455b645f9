"""Builds the reference of every module from its docstrings, with the table of the build sheet.

    python binder/reference.py FOLDER

It wants the extra ``docs``; FOLDER/index.html is where to start.
"""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import pkgutil
import re
import sys
from pathlib import Path

import pdoc

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))  # this checkout, whatever is installed

import sealkit  # noqa: E402
from sealkit.build.fields import fields  # noqa: E402


def sheet() -> str:
    """Every field of the build sheet in a table."""
    lines = ["| field | wanted | default | what it is |", "|---|---|---|---|"]
    for name, spec in fields():
        default = "needed" if spec.required else "" if spec.default is None else spec.default
        cells = (f"`{name}`", spec.wanted, str(default), spec.help)
        lines.append(
            "| " + " | ".join(" ".join(c.split()).replace("|", r"\|") for c in cells) + " |"
        )
    return "\n".join(lines)


def tell_fields(module: object) -> None:
    """Have the classes of a module tell what stands beside their fields, or above them."""
    for cls in (c for _, c in inspect.getmembers(module, inspect.isclass) if c.__doc__):
        if not dataclasses.is_dataclass(cls) or "Parameters\n" in cls.__doc__:
            continue
        told, above = [], ""
        for line in inspect.getsource(cls).splitlines():
            if found := re.match(r"    # (.+)", line):
                above = f"{above} {found[1]}".strip()
                continue
            found = re.match(r"    (\w+): [^#]*(?:# (.+))?$", line)
            if found and (words := found[2] or above):
                several = re.match(r"[\w, ]+: ", words) and words.startswith(f"{found[1]}, ")
                told += [words.replace(": ", " : ", 1) if several else f"{found[1]} : {words}"]
            above = ""
        if told:
            cls.__doc__ = "\n".join([inspect.getdoc(cls), "", "Parameters", "----------", *told])


if __name__ == "__main__":
    if len(sys.argv) != 2:
        raise SystemExit(__doc__)
    for late in sealkit.__all__:  # pdoc takes no name that is imported when it is asked for
        setattr(sealkit, late, getattr(sealkit, late))
    page = sys.modules[fields.__module__]
    page.__doc__ = f"{page.__doc__}\n{sheet()}\n"
    rooms = [m.name for m in pkgutil.iter_modules(sealkit.__path__, "sealkit.")]
    rooms = [name for name in rooms if not name.split(".")[1].startswith("_")]
    for name in pdoc.extract.walk_specs(rooms):
        tell_fields(importlib.import_module(name))
    told = []
    for name in rooms:
        first = importlib.import_module(name).__doc__.split("\n\n")[0]
        told.append(f"- `{name}`: {' '.join(first.split())}")
    sealkit.__doc__ = f"{sealkit.__doc__}\nThe rooms:\n\n" + "\n".join(told)
    pdoc.render.configure(docformat="numpy", show_source=False)
    pdoc.pdoc("sealkit", *rooms, output_directory=Path(sys.argv[1]))
