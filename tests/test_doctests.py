"""The examples in the docstrings run."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import numpy as np
import pytest

import sealkit

MODULES = [
    "sealkit",
    *(
        m.name
        for m in pkgutil.walk_packages(sealkit.__path__, "sealkit.")
        if not m.name.endswith("__main__") and "._course" not in m.name
    ),
]


@pytest.mark.parametrize("name", MODULES)
def test_examples_of_a_module(name: str) -> None:
    with np.printoptions(legacy="1.25"):  # numbers without the name of their type
        assert doctest.testmod(importlib.import_module(name)).failed == 0
