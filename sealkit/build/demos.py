"""Builds from files, texts, mappings and the demonstration sheets."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from sealkit import resources
from sealkit.build.reader import Reader, word
from sealkit.build.sheet import Build, driven_out
from sealkit.build.values import came
from sealkit.build.writing import put, sheet_text
from sealkit.errors import Fault, InputError, fail, near, quoted, short, short_path

_LARGEST = 1_000_000  # bytes of a sheet; a real one has a few thousand


def from_dict(raw: Mapping[str, Any]) -> Build:
    """A build from nested mappings: section -> field -> text, quantity or plain number.

    Raises InputError listing every fault by dotted name.
    """
    if not isinstance(raw, Mapping):
        raise InputError(Fault("sheet", came(raw), "sections with fields"))
    return Build(**Reader(raw).sections())


def loads(text: str) -> Build:
    """A build from the text of a sheet.

    Raises InputError listing every fault by dotted name, or the line that is not TOML.
    """
    if not isinstance(text, str):
        raise InputError(Fault("sheet", came(text), "the text of a build sheet"))
    if len(text) > _LARGEST:
        raise InputError(Fault("sheet", "more than a million characters", "a build sheet"))
    text = text.removeprefix("\ufeff")
    return Build(**Reader(tree(text)).sections(), _source=text)


def edited(text: str, changes: Mapping[str, Any]) -> str:
    """The text of a sheet with some entries changed as `Build.vary` does; its comments stay.

    Neither the sheet nor the new entries need be good: `loads` tells what is wrong with them.
    Raises InputError naming the line that is not TOML.
    """
    text = text.removeprefix("\ufeff")
    raw = tree(text)
    for path, value in {**dict.fromkeys(driven_out(changes)), **changes}.items():
        put(raw, path, value)
    return sheet_text(raw, text)


def tree(text: str) -> dict[str, Any]:
    """What a text in TOML holds, unread.

    Raises InputError naming the line that is not TOML.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as err:
        raise InputError(_syntax(text, str(err))) from err
    except RecursionError as err:
        raise InputError(Fault("sheet", "lists nested too deep", "a build sheet")) from err
    except ValueError as err:
        raise InputError(Fault("sheet", "a number too long or a bad date", "valid TOML")) from err


def _syntax(text: str, message: str) -> Fault:
    """The fault of a text that is not TOML, from what the reader of TOML says."""
    place = re.search(r"\s*\(at line (\d+), column (\d+)\)", message)
    lines = text.splitlines()
    hint = 'a value with a unit stands in quotes, such as bore = "86 mm"'
    if place is None:
        what = message.replace("(at end of document)", "at the end of the sheet").lower()
        return Fault("sheet", what, f"valid TOML; {hint}")
    number = int(place[1])
    line = lines[number - 1].strip() if number <= len(lines) else ""
    what = message[: place.start()].lower()
    if what == r"illegal character '\n'":
        what = "the quote that ends the value is missing"
    wanted = f"valid TOML ({what}, column {place[2]}); {hint}"
    twice = re.match(r"cannot (overwrite|declare)|duplicate inline table key (.*)", what)
    if twice:
        key = (twice[2] or line.partition("=")[0]).strip(" '\"") or "a field"
        before = _first(lines[: number - 1], key)
        wanted = f"each field once; {word(key)} stands here twice{before}"
    elif re.search("[\u2018-\u201f\u00ab\u00bb\u2032\u2033]", line):
        wanted = f'valid TOML; use straight quotes ("), such as {hint.rpartition("such as ")[2]}'
    return Fault(f"line {number}", short(line), wanted)


def _first(lines: list[str], key: str) -> str:
    """Where a field, or a section such as "[engine]", stands before, in words."""
    for number in range(len(lines), 0, -1):
        line = lines[number - 1].strip()
        if line.partition("=")[0].strip(" '\"") == key:
            return f" (before in line {number})"
        if line.startswith("[") and not key.startswith("["):
            break
    return ""


def load(path: str | os.PathLike[str]) -> Build:
    """A build from a sheet on disk.

    Raises InputError if there is no such file, it cannot be read or is not UTF-8 text; otherwise as
    `loads`.
    """
    shown = short_path(str(path))
    wanted = 'a build sheet, a TOML text file such as "four.toml"'
    try:
        file = Path(path).expanduser()
        if file.is_dir():
            raise InputError(Fault("file", f"the folder {shown}", wanted))
        with file.open("rb") as handle:
            data = handle.read(_LARGEST + 1)
    except FileNotFoundError as err:
        wanted += _demo_words(str(path))
        raise InputError(Fault("file", f"{shown}, which is not there", wanted)) from err
    except InputError:
        raise
    except (OSError, ValueError, TypeError, RuntimeError) as err:
        reason = getattr(err, "strerror", None) or str(err)
        raise InputError(Fault("file", f"{shown} ({reason})", wanted)) from err
    if len(data) > _LARGEST:
        raise InputError(Fault("file", f"{shown}, more than a million bytes", wanted))
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as err:
        line = data[: err.start].count(b"\n") + 1
        what = f"{shown}, which is not UTF-8 text (line {line})"
        raise InputError(Fault("file", what, wanted + ", saved as UTF-8")) from err
    return loads(text)


def _demo_words(path: str) -> str:
    """The names of the demonstration builds, with the one nearest to the file asked for."""
    try:
        known = demos()
    except InputError:  # the course's data are not there; the sheet asked for is what matters
        return ""
    name = re.split(r"[/\\]", path)[-1].removesuffix(".toml")
    return f"; demonstration builds are {quoted(known)}{near(name, known)}" if known else ""


def demos() -> list[str]:
    """Names of the demonstration builds."""
    return sorted(p.stem for p in (resources.course_root() / "data" / "builds").glob("*.toml"))


def demo(name: str) -> Build:
    """A demonstration build by its name; its numbers are invented.

    Raises InputError if there is none of this name.
    """
    known = demos()
    if name not in known:
        raise fail("demo", str(name), f"one of {quoted(known)}", near(str(name), known))
    return load(resources.data_file("builds", f"{name}.toml"))
