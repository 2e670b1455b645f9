"""Formulas of books and references that serve only to check ours: one module for each."""

from pathlib import Path

from sealkit import checks


def row(reference: str, id: str) -> checks.Check:
    """One row of the values of a reference."""
    path = Path(__file__).with_name(f"{reference}.csv")
    return next(r for r in checks.read(path, "tests.validation") if r.id == id)
