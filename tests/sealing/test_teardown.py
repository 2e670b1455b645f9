"""Used gaskets and faces, judged."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError, Q, tables
from sealkit.sealing import constructions
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.sealing.teardown import _closure_at, inspect, local_loss, questions
from sealkit.words import Note

# a bead that can be worked by hand: 1 N/mm per um, comes back at twice that from 100 um
BEAD = Zone(
    "bead",
    "seal",
    "length",
    np.array([0.0, 100e-6]),
    np.array([0.0, 100e3]),
    unloading=((np.array([100e-6, 50e-6]), np.array([100e3, 0.0])),),
    width=1e-3,
    free_thickness=1e-3,
    seating=40e3,
    factor=2.0,
)
OWN = Gasket("my own", (BEAD,))
LOAD = "100 N/mm"


# --------------------------------------------------------------------------- local loss
def test_local_loss_by_hand() -> None:
    used = local_loss.si(BEAD, 100e-6, 20e-6)
    assert used.sound == pytest.approx(100e3)
    assert used.local == pytest.approx(60e3)  # back along the unloading path
    assert used.lost == pytest.approx(0.4)
    assert local_loss.si(BEAD, 100e-6, 60e-6).local == 0
    assert local_loss.si(BEAD, 100e-6, 1.0).local == 0


def test_pressure_raises_what_is_wanted() -> None:
    assert local_loss.si(BEAD, 100e-6, 20e-6).holds
    under = local_loss.si(BEAD, 100e-6, 20e-6, pressure=35e6)
    assert under.wanted == pytest.approx(70e3)
    assert not under.holds


@settings(max_examples=40, deadline=None)
@given(
    name=st.sampled_from(constructions.names()),
    share=st.floats(0.1, 1.0),
    gap=st.floats(0, 3e-4),
)
def test_a_gap_never_adds_load_and_wear_never_helps(name: str, share: float, gap: float) -> None:
    for zone in constructions.make(name).zones:
        c = share * float(zone.closure[-1])
        used = local_loss.si(zone, c, gap)
        new = float(zone.loading(max(c - gap, 0.0)))  # never pressed further
        assert 0 <= used.local <= new * (1 + 1e-9) + 1e-9
        assert new <= used.sound * (1 + 1e-9)
        assert local_loss.si(zone, c, 0.0).lost == pytest.approx(0, abs=1e-12)
        assert _closure_at(zone, float(zone.loading(c))) <= c * (1 + 1e-9)


def test_local_loss_takes_arrays_and_refuses_nonsense() -> None:
    gap = np.linspace(0, 60e-6, 4)
    out = local_loss.si(BEAD, 100e-6, gap)
    assert out.local == pytest.approx([100e3, 60e3, 20e3, 0])
    assert out.holds.tolist() == [True, True, False, False]
    with pytest.raises(InputError) as err:
        local_loss(BEAD, "-1 um", "20 N", "1 bara")
    assert [f.field for f in err.value.faults] == ["closure", "gap", "pressure"]
    with pytest.raises(InputError, match="gap"):
        local_loss(BEAD, "100 um", Q(np.array([0, np.nan]), "um"))


def test_a_zone_closes_where_its_loading_curve_carries_the_load() -> None:
    # beyond its last point the last slope goes on
    assert [_closure_at(BEAD, q) for q in (50e3, 200e3)] == pytest.approx([50e-6, 200e-6])
    body = Zone("body", "body", "area", np.array([0.0, 1e-4]), np.array([0.0, 1e7]))
    assert local_loss(body, "100 um", "20 um").local == pytest.approx(8e6)
    assert _closure_at(body, 5e6) == pytest.approx(50e-6)


def test_a_flat_curve_has_no_closure_for_more_load() -> None:
    flat = Zone("flat", "seal", "length", np.array([0.0, 1e-5, 2e-5]), np.array([0.0, 1e4, 1e4]))
    with pytest.raises(InputError, match="can carry"):
        _closure_at(flat, 20e3)


# --------------------------------------------------------------------------- inspection
def test_reuse_when_nothing_speaks_against_it() -> None:
    out = inspect(OWN, {"thin_spot": "5 um", "burn_through": "no"}, line_load=LOAD)
    assert (out.gasket, out.face, out.verdict) == ("reuse", "reuse", "reuse")
    assert out.closure.to("um").magnitude == pytest.approx(100)
    assert out.items[0].local.to("N/mm").magnitude == pytest.approx(90)


def test_thin_spot_replaces_the_gasket() -> None:
    out = inspect(OWN, {"thin_spot": "40 um"}, line_load=LOAD)
    assert (out.gasket, out.face, out.verdict) == ("replace", "reuse", "replace")
    item = out.items[0]
    assert "(80.0 % lost)" in item.consequence.text()
    assert (item.local / item.sound).to("").magnitude == pytest.approx(0.2)
    assert "hot spot" in item.sign


def test_ring_mark_resurfaces_the_face() -> None:
    old = inspect(OWN, {"ring_mark_depth": "2 thou"}, line_load=LOAD)
    assert (old.gasket, old.face, old.verdict) == ("reuse", "resurface", "resurface")
    assert old.items[0].local.magnitude == 0


def test_set_costs_springback_first_and_load_after() -> None:
    usual = inspect(OWN, {"permanent_set": "50 um"}, line_load=LOAD, lift="40 um").items[0]
    assert usual.springback.to("um").magnitude == pytest.approx(50)
    assert usual.local.to("N/mm").magnitude == pytest.approx(100)
    assert usual.action == "reuse"
    more = inspect(OWN, {"permanent_set": "70 um"}, line_load=LOAD, lift="40 um").items[0]
    assert more.springback.to("um").magnitude == pytest.approx(30)
    assert more.local.to("N/mm").magnitude == pytest.approx(60)
    assert more.action == "replace"
    assert "is not followed" in more.consequence.text()


def test_pressure_decides_where_seating_would_still_hold() -> None:
    answers = {"thin_spot": "20 um"}
    assert inspect(OWN, answers, line_load=LOAD).verdict == "reuse"
    assert inspect(OWN, answers, line_load=LOAD, pressure="350 bar").verdict == "replace"


def test_burnt_seal_carries_nothing() -> None:
    out = inspect(OWN, {"burn_through": True}, line_load=LOAD)
    assert out.verdict == "replace"
    assert out.items[0].local.magnitude == 0
    assert "detonation" in out.items[0].sign


def test_missing_coat_means_less_load_there() -> None:
    few = inspect("multi-layer steel", {"missing_coat": "5 um"}).items[0]
    many = inspect("multi-layer steel", {"missing_coat": "70 um"}).items[0]
    assert few.local > many.local
    assert many.action == "replace"


def test_warp_by_its_bow_within_the_bore_and_by_the_texts() -> None:
    args = {"span": "400 mm", "bore": "86 mm", "cylinders": 4}
    mild = inspect(OWN, {"warp": "0.08 mm"}, line_load=LOAD, **args)
    assert mild.face == "reuse"
    assert "within all shop rules" in mild.items[0].consequence.text()
    step = inspect(OWN, {"warp": "0.08 mm"}, line_load=LOAD)
    assert step.face == "resurface"
    bent = inspect(OWN, {"warp": "0.3 mm"}, line_load=LOAD, **args)
    assert bent.face == "resurface"
    assert "3 of 3 shop rules refuse it" in bent.items[0].consequence.text()


def test_finish_is_refused_only_where_every_text_refuses() -> None:
    some = inspect("multi-layer steel", {"roughness": "55 microinch"})
    assert some.face == "reuse"
    assert "they disagree" in some.items[0].consequence.text()
    none = inspect("multi-layer steel", {"roughness": "150 microinch"})
    assert none.face == "resurface"
    copper = inspect("copper with wire ring", {"roughness": "150 microinch"})
    assert copper.face == "reuse"
    assert copper.items[0].consequence.text() == "no shop rule gives a figure"


def test_copper_that_ran_is_harder_than_a_soft_casting() -> None:
    name = "copper with wire ring"
    ran = inspect(name, {"copper_hard": "yes"})
    assert ran.gasket == "replace"
    assert "anneal" in ran.items[0].consequence.text()
    soft = inspect(name, {"copper_hard": "no"})
    assert soft.gasket == "reuse"
    assert any("shop rules disagree" in i.consequence.text() for i in soft.items)
    iron = inspect(name, {"copper_hard": "yes"}, face="iron")
    assert iron.gasket == "reuse"


def test_a_rule_of_the_trade_outweighs_a_good_computation_and_says_so() -> None:
    out = inspect("multi-layer steel", {"burn_through": "no"})
    assert (out.computed, out.gasket) == ("reuse", "replace")
    assert out.items[-1].rule and out.items[-1].consequence.text() == "fit dry, once"
    assert out.items[-1].status == "common practice, no source"


def test_wet_liner_protrusion() -> None:
    low = inspect(OWN, {"liner_protrusion": "0.03 mm"}, line_load=LOAD)
    assert low.face == "resurface"
    assert inspect(OWN, {"liner_protrusion": "0.05 mm"}, line_load=LOAD).face == "reuse"


@pytest.mark.parametrize("name", constructions.names())
def test_every_question_can_be_answered(name: str) -> None:
    sample = {"length": "10 um", "roughness": "40 microinch", "yes or no": "no"}
    answers = {q["key"]: sample[q["answer"]] for q in questions(name)}
    out = inspect(name, answers, span="400 mm", bore="86 mm", cylinders=4)
    assert len([i for i in out.items if not i.rule]) == len(answers)
    assert all(
        i.consequence.text("inch") and i.source and i.status in tables.STATUSES for i in out.items
    )
    worst = {"length": "0.3 mm", "roughness": "200 microinch", "yes or no": True}
    bad = inspect(name, {q["key"]: worst[q["answer"]] for q in questions(name)})
    assert bad.verdict == "replace"
    assert bad.face == "resurface"


def test_words_in_the_shops_units() -> None:
    found = inspect(OWN, {"thin_spot": "40 um", "ring_mark_depth": "1 thou"}, line_load=LOAD)
    spot, mark = found.items
    assert spot.answer.text() == "40.0 µm" and spot.answer.text("inch") == "1.57 thou"
    assert "20.0 N/mm of 100.0 N/mm left" in spot.consequence.text()
    assert "114 lbf/in of 571 lbf/in left" in spot.consequence.text("inch")
    assert isinstance(mark.sign, Note) and "0.0020 in" in mark.sign.text("inch")


def test_every_bad_answer_is_named() -> None:
    with pytest.raises(InputError) as err:
        inspect(
            OWN,
            {
                "warpp": "1 um",
                "permanent_set": "3 kg",
                "burn_through": "maybe",
                "thin_spot": "2 mm",
                "warp": "-1 um",
                "scratch_depth": 0.1,
            },
        )
    assert [f.field for f in err.value.faults] == [
        f"findings.{k}"
        for k in (
            "warpp",
            "permanent_set",
            "burn_through",
            "thin_spot",
            "warp",
            "scratch_depth",
        )
    ]
    assert 'did you mean "warp"' in str(err.value)
    for call, word in (
        (lambda: inspect("multi layer", {"warp": "1 um"}), "construction"),
        (lambda: inspect(OWN, {}), "findings"),
        (lambda: inspect(OWN, "warp"), "findings"),
        (lambda: inspect(OWN, {"warp": "1 um"}, face="tin"), "face"),
        (lambda: inspect(OWN, {"warp": "1 um"}, zone="ring"), "zone"),
        (lambda: inspect(OWN, {"warp": "1 um"}, line_load="10 N"), "line_load"),
    ):
        with pytest.raises(InputError, match=word):
            call()
