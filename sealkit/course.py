"""The course on the learner's disk: unpack it, and never overwrite what the learner changed."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import NamedTuple

from sealkit.errors import fail
from sealkit.files import write_whole
from sealkit.resources import course_root

_RECORD = ".course-files.json"
_PARTS = ("notebooks", "data")
INSTRUCTORS = (
    "notebooks/gradebook.ipynb",
    "notebooks/instructors-guide.ipynb",
    "data/cards/",  # the formulas of every answer; cards are drawn from the package's own
    "data/sample-class/",
)


class Unpacked(NamedTuple):
    """What unpacking did: files written, files left alone because the learner changed them."""

    written: tuple[str, ...]
    kept: tuple[str, ...]


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def unpack(folder: Path, trainee: bool = False) -> Unpacked:
    """Copy notebooks and data into `folder`; a file the learner changed is left as it is.

    A file that was unpacked before and not changed since is brought up to date. For a trainee what
    an instructor keeps (`INSTRUCTORS`) is left out. Raises InputError if the folder cannot be
    written.
    """
    root = course_root()
    record_path = folder / _RECORD
    try:
        folder.mkdir(parents=True, exist_ok=True)
        record: dict[str, str] = {}
        if record_path.is_file():
            try:
                loaded = json.loads(record_path.read_text(encoding="utf-8"))
                record = {str(k): str(v) for k, v in loaded.items()}
            except (ValueError, AttributeError):
                record = {}  # without a record every file there counts as the learner's
        written, kept = [], []
        for part in _PARTS:
            for source in sorted((root / part).rglob("*")):
                if "pictures" in source.parts or not source.is_file():
                    continue
                if any(p.startswith((".", "__")) for p in source.parts[-2:]):
                    continue
                name = source.relative_to(root).as_posix()
                if trainee and name.startswith(INSTRUCTORS):
                    continue
                target, fresh = folder / name, _digest(source)
                there = _digest(target) if target.exists() else None
                if there not in (None, fresh, record.get(name)):
                    kept.append(name)
                    continue
                record[name] = fresh
                if there != fresh:
                    target.parent.mkdir(parents=True, exist_ok=True)
                    write_whole(target, source.read_bytes())
                    written.append(name)
        write_whole(record_path, json.dumps(record, indent=1, sort_keys=True).encode())
    except OSError as err:
        raise fail("folder", folder, f"a folder that can be written ({err.strerror})") from err
    return Unpacked(tuple(written), tuple(kept))


def have_lab() -> bool:
    """Whether JupyterLab can be started."""
    from importlib.util import find_spec

    return find_spec("jupyterlab") is not None
