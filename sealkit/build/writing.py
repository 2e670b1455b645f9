"""The sheet as text: written anew, or into the text it was read from, so that comments stay."""

from __future__ import annotations

import contextlib
import textwrap
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

from sealkit.build.fields import ABOUT, FIELDS, OPTIONAL, OWN_TABLES, SECTION_NAMES, TABLE, Spec
from sealkit.build.names import KNOWN
from sealkit.build.toml import toml, toml_key
from sealkit.build.values import Kept, written
from sealkit.build.zones import row_of
from sealkit.sealing.gaskets import Zone


# --------------------------------------------------------------------------- values as texts
def row_values(path: str, row: Any) -> Iterator[tuple[str, str, Any]]:
    """Key, kind and value of each cell of a row that has one."""
    if isinstance(row, Zone):
        row = row_of(row)
    elif isinstance(row, tuple):
        row = dict(zip(TABLE[path], row, strict=True))
    for key, spec in TABLE[path].items():
        value = row[key] if isinstance(row, dict) else getattr(row, spec.attribute)
        if value is not None and not (value == spec.held and not spec.required):
            yield key, spec.kind, value


def _rows_written(path: str, rows: tuple[Any, ...]) -> list[dict[str, Any]]:
    return [
        {
            key: _rows_written(f"{path}.{key}", value) if kind == "rows" else written(value, kind)
            for key, kind, value in row_values(path, row)
        }
        for row in rows
    ]


def texts(kept: Mapping[str, Any], name: str = "") -> dict[str, Any]:
    """Nested `Kept` values as what is written: the own text, or one made of the value."""
    out: dict[str, Any] = {}
    for key, value in kept.items():
        path = f"{name}.{key}".removeprefix(".")
        if not isinstance(value, Kept):
            out[key] = texts(value, path)
        elif value.text is not None:
            out[key] = value.text
        elif FIELDS[path].kind == "rows":
            out[key] = _rows_written(path, value.value)
        else:
            out[key] = written(value.value, FIELDS[path].kind)
        if out[key] == [] and FIELDS[path].kind in ("rows", "places"):
            del out[key]
    return out


# --------------------------------------------------------------------------- the text
def sheet_text(raw: Mapping[str, Any], source: str = "") -> str:
    """Nested texts of a sheet as TOML.

    As much as possible of `source` is kept; where it is empty, the text is written anew.
    """
    if source:
        have = tomllib.loads(source)
        if _same(have, raw):
            return source
        edited = _edited(source, raw)
        with contextlib.suppress(tomllib.TOMLDecodeError):
            if _same(tomllib.loads(edited), raw):
                return edited
    blocks = [_block(name, raw) for name in SECTION_NAMES]
    return "\n".join(block for block in blocks if block)


def _same(have: Any, want: Any) -> bool:
    """Whether a text says the same; empty sections and lists say nothing."""
    if isinstance(want, Mapping) and isinstance(have, Mapping):
        return all(
            _same(have.get(k, {}), want.get(k, {})) if have.get(k) or want.get(k) else True
            for k in have.keys() | want.keys()
        )
    if isinstance(want, list | tuple) and isinstance(have, list):
        return len(want) == len(have) and all(map(_same, have, want))
    return type(have) is type(want) and have == want


def put(raw: dict[str, Any], path: str, value: Any) -> bool:
    """Set (or with None take away) a raw value; False if the way leads through a value."""
    *steps, key = path.split(".")
    place: Any = raw
    for step in steps:
        if not isinstance(place, dict):
            return False
        if step not in place:
            if value is None:
                return True
            place[step] = {}
        place = place[step]
    if not isinstance(place, dict):
        return False
    if value is None:
        place.pop(key, None)
    else:
        place[key] = value
    return True


def _part(name: str, raw: Mapping[str, Any]) -> Any:
    part: Any = raw
    for step in name.split("."):
        part = part.get(step) if isinstance(part, Mapping) else None
    return part


def _block(name: str, raw: Mapping[str, Any]) -> str:
    """A section, and the tables of its own that belong to it."""
    part = _part(name, raw)
    if not part:
        return ""
    apart = [k for k in part if _apart(f"{name}.{k}", part[k])]
    plain = [k for k in part if k not in apart and not isinstance(part[k], dict)]
    entries = [f"{toml_key(k)} = {_written_out(f'{name}.{k}', part[k])}" for k in plain]
    lines = [f"[{name}]", *entries, ""] if plain else []
    for key in apart:
        for row in part[key]:
            lines += [f"[[{name}.{key}]]", *(f"{toml_key(k)} = {toml(v)}" for k, v in row.items())]
            lines.append("")
    return "\n".join(lines)


def _apart(path: str, value: Any) -> bool:
    """Whether a value is written as tables of its own."""
    listed = path in OWN_TABLES and isinstance(value, list | tuple)
    return listed and all(isinstance(row, Mapping) for row in value)


def _written_out(path: str, value: Any) -> str:
    """A value as TOML; of a list of places each has its own line."""
    if FIELDS[path].kind == "places" and isinstance(value, list | tuple) and value:
        return "\n".join(["[", *(f"  {toml(v)}," for v in value), "]"])
    return toml(value)


# --------------------------------------------------------------------------- into a text
def _edited(source: str, raw: Mapping[str, Any]) -> str:
    """A text with the fields that changed put in; everything else as it stands."""
    import tomlkit

    breaks = "\r\n" if "\r\n" in source else "\n"
    doc = tomlkit.parse(source.replace("\r\n", "\n"))
    for name in SECTION_NAMES:
        have, want = _part(name, doc), _part(name, raw) or {}
        if isinstance(have, Mapping) and (want or name not in OPTIONAL):
            _edit_section(name, have, want)
        elif isinstance(have, Mapping):
            outer, _, key = name.rpartition(".")
            del (_part(outer, doc) if outer else doc)[key]
        elif want:
            doc = tomlkit.parse(doc.as_string().rstrip("\n") + "\n\n" + _block(name, raw))
    return doc.as_string().replace("\n", breaks)


def _edit_section(name: str, have: Any, want: Mapping[str, Any]) -> None:
    import tomlkit

    for key in TABLE[name]:
        path, old = f"{name}.{key}", have.get(key)
        if key not in want:
            if old is not None:
                del have[key]
        elif old is None or not _same(old.unwrap(), want[key]):
            if _apart(path, want[key]):
                item = tomlkit.parse(_block(name, {name: {key: want[key]}}))[name][key]
            else:
                item = tomlkit.value(_written_out(path, want[key]))
            have[key] = item


# --------------------------------------------------------------------------- a sheet to fill in
def template() -> str:
    """An empty build sheet to fill in: every field as a comment, with what it is and its range."""
    lines = [
        "# Build sheet. Take away the # in front of a line and put in your own value.",
        '# A value with a unit stands in quotes, such as "86 mm" or "3.386 in".',
    ]
    for name in SECTION_NAMES:
        heading = f"[{name}]"
        lines += ["", f"# {ABOUT[name]}"]
        if name in OPTIONAL:
            why = "Instead of engine.compression_ratio" if "." in name else "May be left out"
            lines.append(f"# {why}; take away the # of the heading.")
            heading = f"# {heading}"
        lines += [heading, ""]
        for key, spec in TABLE[name].items():
            lines += _template_field(f"{name}.{key}", spec)
    return "\n".join(lines) + "\n"


def _template_field(path: str, spec: Spec) -> list[str]:
    when = need(spec)
    lines = [f"# {spec.help}{'; ' * bool(when)}{when}"]
    if len(spec.choices) > 1:
        lines.append(f"# {spec.wanted}")
    elif spec.range:
        lines.append(f"# {spec.span}")
    if path in KNOWN:
        known = ", ".join(f'"{n}"'.replace(" ", "\0") for n in KNOWN[path]())  # none is broken
        wrapped = textwrap.wrap(
            f"# known: {known}", 90, subsequent_indent="#   ", break_on_hyphens=False
        )
        lines += [line.replace("\0", " ") for line in wrapped]
    if path not in OWN_TABLES:
        return [*lines, f"# {spec.key} = {toml(spec.example)}"]
    lines.append(f"# [[{path}]]")
    for key, value in spec.example[0].items():
        lines.append(f"# {key} = {toml(value)}  # {TABLE[path][key].help}")
    return lines


def need(spec: Spec) -> str:
    """When a field is needed, and what holds where it is left out, in words."""
    if spec.required:
        return "required"
    default = f"{toml(spec.default)} if left out" if spec.default not in (None, "") else ""
    default += f" ({spec.source})" if spec.source else ""
    if spec.when:
        return f"{spec.when}; {default.replace('if left', 'if both are left')}".removesuffix("; ")
    return default or ("" if "left out: " in spec.help else "may be left out")
