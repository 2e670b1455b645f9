"""Files that are written whole or not at all."""

from __future__ import annotations

import os
import secrets
import shutil
from pathlib import Path


def write_whole(path: str | os.PathLike[str], data: bytes, private: bool = False) -> Path:
    """Write a file: at any moment its path holds the old content or the whole new one.

    A link is followed; a file that is replaced keeps its rights, unless it is to be private.
    Returns the file written, its links followed. Raises OSError, ValueError if it cannot be
    written; what was there stays, and no other file is left behind.

    Parameters
    ----------
    private : nobody but the owner may read it
    """
    target = Path(os.path.realpath(path))
    spare = target.with_name(f".{target.name[:100]}.{secrets.token_hex(4)}.tmp")
    try:
        made = os.open(spare, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600 if private else 0o666)
        with os.fdopen(made, "wb") as handle:
            handle.write(data)
            handle.flush()
            os.fsync(handle.fileno())
        if target.exists() and not private:
            shutil.copymode(target, spare)
        os.replace(spare, target)
    finally:
        spare.unlink(missing_ok=True)
    return target
