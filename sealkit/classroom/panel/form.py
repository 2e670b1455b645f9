"""One's own engine: the build sheet as a form, with its text behind it.

The form is made of the table of fields. What is written into one of its entries goes into the
text, what is written into the text into the entries; both are read by the one reader of sheets,
and each fault is told beside its field.
"""

from __future__ import annotations

import contextlib
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from sealkit import build as builds
from sealkit.build.fields import ABOUT, FIELDS, SECTION_NAMES, TABLE, Spec
from sealkit.build.names import KNOWN
from sealkit.build.toml import toml
from sealkit.build.writing import need
from sealkit.errors import Fault, InputError
from sealkit.units import KINDS


class Form(anywidget.AnyWidget):
    """A sheet to fill in.

    `text` is the whole sheet, `values` what its entries say, `faults` what is wrong with each
    (under "" what belongs to none), `broken` whether the text cannot be split into entries.
    """

    _esm = Path(__file__).with_name("form.js").read_text(encoding="utf-8")
    _css = Path(__file__).with_name("form.css").read_text(encoding="utf-8")
    groups: Any = traitlets.List().tag(sync=True)
    text = traitlets.Unicode().tag(sync=True)
    values = traitlets.Dict().tag(sync=True)
    faults = traitlets.Dict().tag(sync=True)
    broken = traitlets.Bool(False).tag(sync=True)

    def __init__(self, text: str) -> None:
        super().__init__()
        self.observe(lambda _: self._split(), "text")
        self.on_msg(lambda _, sent, __: self.put(sent["path"], sent["entry"]))
        self.text = text

    def lay_out(self) -> None:
        """Make the form of the sheet that stands; what it needs or has stands before the rest."""
        self.groups = [
            {
                "title": _title(name),
                "fields": [
                    _field(f"{name}.{key}", spec, f"{name}.{key}" in self.values)
                    for key, spec in TABLE[name].items()
                ],
            }
            for name in SECTION_NAMES
        ]

    def put(self, path: str, entry: str) -> None:
        """Write an entry into the text, good or bad; an empty one is taken off the sheet."""
        if not self.broken:
            self.text = builds.edited(self.text, {path: _written(FIELDS[path], entry)})

    def tell(self, faults: Iterable[Fault]) -> None:
        """Show faults beside their fields, and none at the others."""
        told: dict[str, list[str]] = {}
        for fault in faults:
            whole = fault.field.partition("[")[0]
            inside = (fault.field, whole, whole.rpartition(".")[0])
            path = next((p for p in inside if p in FIELDS), "")
            words = fault.told if fault.field == path else str(fault)
            told.setdefault(path, []).append(words)
        self.faults = told

    @property
    def wrong(self) -> list[str]:
        """What is to be put right, each by its section and name."""
        return [path.replace(".", " ").replace("_", " ") for path in self.faults if path]

    def _split(self) -> None:
        try:
            tree = builds.tree(self.text)
        except InputError:
            self.broken = True
            return
        self.broken = False
        self.values = {path: _shown(value) for path, value in _entries(tree)}


def _entries(tree: dict[str, Any]) -> Iterable[tuple[str, Any]]:
    for path in FIELDS:
        part: Any = tree
        for step in path.split("."):
            part = part.get(step) if isinstance(part, dict) else None
        if part is not None:
            yield path, part


def _shown(value: Any) -> str:
    return value if isinstance(value, str) else toml(value)


def _written(spec: Spec, entry: str) -> Any:
    """What an entry of the form says on the sheet: a number, a list or a text."""
    entry = entry.strip()
    listed = spec.kind in ("rows", "places")
    if listed or spec.kind == "whole" or (spec.kind in KINDS and not KINDS[spec.kind].si):
        with contextlib.suppress(tomllib.TOMLDecodeError):
            return tomllib.loads(f"entry = {entry}")["entry"]
    return entry.strip('"') or None


def _title(section: str) -> str:
    words = ABOUT[section].rstrip(".")
    return f"{section.rpartition('.')[2].capitalize()}: {words[0].lower()}{words[1:]}"


def _field(path: str, spec: Spec, given: bool) -> dict[str, Any]:
    """What the browser needs to know of a field."""
    words = spec.key.replace("_", " ").replace("ca50", "CA50")
    about = "; ".join(words for words in (spec.help, spec.span, need(spec)) if words)
    return {
        "path": path,
        "words": words[0].upper() + words[1:],
        "help": about,
        "choices": [_shown(c) for c in spec.choices],
        "known": list(KNOWN[path]()) if path in KNOWN else [],
        "first": spec.required or given,
    }
