"""What embedment takes of the preload."""

import numpy as np
import pytest

from sealkit import InputError, checks, tables
from sealkit.fastening.losses import embedment_depth, embedment_loss


def test_embedding_of_the_through_bolt_example() -> None:
    want = checks.row("scatter", "FZ-loss").want()
    depth = embedment_depth("10 to 40 um", interfaces=1)
    loss = embedment_loss(depth, "466.8 MN/m", "1379 MN/m")
    assert loss.to("kN").magnitude == pytest.approx(want.magnitude, abs=0.005)
    assert (loss / (37.9e3 * loss.units)).magnitude == pytest.approx(0.101, abs=5e-4)


@pytest.mark.parametrize("row", tables.load("embedment").rows, ids=lambda r: r["key"])
def test_embedding_adds_up_surface_by_surface(row: dict) -> None:
    roughness, load = row["key"].split(", ")
    depth = embedment_depth.si(roughness, interfaces=3, faces=1, shear=load == "shear")
    assert depth == pytest.approx(row["thread"] + row["face"] + 3 * row["interface"])
    none = embedment_depth.si(roughness, interfaces=0, faces=0, threads=0)
    assert none == 0


def test_arrays_of_depth_and_stiffness() -> None:
    depths, members = np.array([4e-6, 8e-6])[:, None], np.array([5e8, 9e8, 2e9])
    many = embedment_loss.si(depths, 3e8, members)
    assert many.shape == (2, 3)
    assert many[1, 1] == pytest.approx(embedment_loss.si(8e-6, 3e8, 9e8))
    assert np.all(np.diff(many, axis=1) > 0)  # stiff members lose most


def test_every_wrong_input_is_named() -> None:
    with pytest.raises(InputError, match="roughness"):
        embedment_depth("mirror")
    for count in (-1, 1.5, True):
        with pytest.raises(InputError, match="interfaces"):
            embedment_depth(interfaces=count)
    with pytest.raises(InputError, match="embedment"):
        embedment_loss("11 kN", "466 MN/m", "1379 MN/m")
