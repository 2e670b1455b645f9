"""Finish and flatness as a gate of the ranking: what texts refuse, dispute and want worked."""

from __future__ import annotations

import dataclasses

import pytest

from sealkit import build
from sealkit.report import ranking
from sealkit.report.faces import faces
from sealkit.sealing import constructions
from sealkit.sealing.limit import Outcome

FOUR = build.demo("boosted-four")  # aluminium head, iron block
STEEL, FIBRE, COPPER = "multi-layer steel", "fibre composite", "copper sheet"


def test_faces_that_are_not_on_the_sheet_are_told_and_change_nothing() -> None:
    for name in constructions.names():
        found = faces(FOUR, name)
        assert not found.refused
        assert found.text().startswith("faces not on the sheet: work them to ")
        assert found.text().endswith("\u00b5m") and "thou" in found.text("inch")
    # copper flows into any finish: only how flat it lies is told
    assert "Ra" not in faces(FOUR, COPPER).text()
    assert "shop rules disagree" in faces(FOUR, STEEL).text()


def test_a_rough_face_lets_layered_steel_fall_out_and_not_copper() -> None:
    calm = FOUR.vary({"charge.boost": "15 psi"})
    rough = calm.vary({"head.finish": "3 um", "block.finish": "3 um"})
    usual, now = ({r.name: r for r in ranking.rank(b)} for b in (calm, rough))
    assert usual[STEEL].outcome is Outcome.HOLDS
    assert now[STEEL].outcome is Outcome.FAILS and now[STEEL].faces.refused
    assert now[STEEL].reason().startswith("falls out by its faces: Ra 3.00 \u00b5m of the head")
    # the joint itself is as it was
    assert now[STEEL].limit == usual[STEEL].limit
    assert not now[COPPER].faces.refused
    order = [r.outcome for r in ranking.rank(rough)]
    assert order == sorted(order, key=list(Outcome).index)


def test_a_polished_iron_face_lets_fibre_fall_out() -> None:
    fine = FOUR.vary({"block.finish": "0.3 um"})
    assert faces(fine, FIBRE).refused and not faces(fine, STEEL).refused
    assert "from 1.40 \u00b5m" in faces(fine, FIBRE).text()


@pytest.mark.parametrize("finish", [0.5e-6, 0.9e-6, 1.3e-6])
def test_where_texts_contradict_each_other_it_is_disputed(finish: float) -> None:
    """Up to 30, up to 50, 50 to 60 microinch: no face suits all three."""
    found = faces(FOUR.vary_si({"head.finish": finish}), STEEL)
    least, most = 50 * 25.4e-9, 60 * 25.4e-9
    against = (finish > 0.8e-6) + (finish > least) + (not least <= finish <= most)
    assert 0 < against < 3 and not found.refused
    assert f"disputed, {against} of 3 shop rules refuse{'s' * (against == 1)} it" in found.text()


def test_between_texts_a_face_is_disputed_and_a_rougher_one_never_allowed_again() -> None:
    """Up to 50 or 60 to 100 microinch on iron: 55 lies between, more than 100 beyond them."""
    finishes = [x * 25.4e-9 for x in range(5, 140, 5)]
    every = [faces(FOUR.vary_si({"block.finish": x}), STEEL) for x in finishes]
    refused = [f.refused for f in every]
    assert refused == sorted(refused) and refused == [x > 100.1 * 25.4e-9 for x in finishes]
    assert "disputed, in a gap between shop rules" in every[10].text()


def test_both_faces_out_of_flat_add_up() -> None:
    one = FOUR.vary({"head.out_of_flat": "90 um"})
    both = one.vary({"block.out_of_flat": "90 um"})
    assert not faces(one, STEEL).refused and "combined flatness" in faces(one, STEEL).text()
    assert faces(both, STEEL).refused and "combined flatness" not in faces(both, STEEL).text()
    assert "180" in faces(both, STEEL).text()


def test_a_bow_of_the_deck_map_counts_where_nothing_else_is_said() -> None:
    bent = FOUR.vary({"deck.lengthwise_bow": "-400 um"})
    assert faces(bent, STEEL).refused
    assert not faces(bent.vary({"head.out_of_flat": "20 um"}), STEEL).refused


def test_no_text_speaks_of_a_gasket_of_ones_own() -> None:
    found = faces(FOUR.vary({"head.finish": "20 um"}), "my own")
    assert found == type(found)()


def test_ranked_says_so_in_every_row() -> None:
    for r, row in zip(ranking.rank(FOUR), ranking.rows(ranking.rank(FOUR)), strict=True):
        assert r.faces.text() in row["why"]
        assert dataclasses.replace(r, faces=type(r.faces)()).reason() == row["why"].replace(
            f"; {r.faces.text()}", ""
        )
