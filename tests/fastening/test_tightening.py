"""Torque, friction, angle, stretch, stress while tightening, scatter."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from sealkit import InputError, Q, checks, tables
from sealkit.fastening import stiffness
from sealkit.fastening import tightening as t
from sealkit.fastening.threads import thread
from tests.validation import iso_16047, row, shigley

mu = st.floats(0.03, 0.35)
force = st.floats(1e3, 2e5)
PRINTED = [
    r["designation"]
    for r in tables.load("threads").rows
    if 6e-3 <= r["diameter"] <= 16e-3
    and (r["printed_stress_area"] or r["printed_stress_area_inch"])
]


def long(*args, **more):
    return t.torque_split(*args, **more).total


def long_si(*args, **more):
    return t.torque_split.si(*args, **more).total


def fast(test):
    return settings(max_examples=40, deadline=None)(test)


# ------------------------------------------------------------------ torque
@pytest.mark.parametrize("name", PRINTED)
def test_nut_factor_is_about_a_fifth_in_every_size(name: str) -> None:
    th = thread.si(name)
    k = shigley.nut_factor.si(th.diameter, th.pitch, th.root_diameter, 0.15, 0.15)
    assert 0.19 < k < 0.20


@fast
@given(f=force, m1=mu, m2=mu)
def test_long_form_and_its_inverses(f: float, m1: float, m2: float) -> None:
    d, p = 0.011, 0.0015
    torque = long_si(f, d, p, m1, m2)
    assert torque / long_si(1.0, d, p, m1, m2) == pytest.approx(f)
    equal = long_si(f, d, p, m1, m1)
    assert iso_16047.friction_from_test.si(equal, f, d, p) == pytest.approx(m1)
    root = brentq(lambda x: long_si(f, d, p, x, x) - torque, 0, 1)
    assert iso_16047.friction_from_test.si(torque, f, d, p) == pytest.approx(root)
    k = t.nut_factor_from_test.si(torque, f, d)
    assert t.torque_short.si(f, k, d) == pytest.approx(torque)
    assert t.preload_short.si(torque, k, d) == pytest.approx(f)


@fast
@given(f=force, m1=mu, m2=mu)
def test_parts_of_the_torque_sum_up(f: float, m1: float, m2: float) -> None:
    s = t.torque_split.si(f, 0.012, 0.00175, m1, m2)
    assert s.stretching + s.thread + s.head == pytest.approx(s.total)
    assert s.total == pytest.approx(long_si(f, 0.012, 0.00175, m1, m2))
    assert s.stretching == pytest.approx(f * 0.00175 / (2 * np.pi))


def test_torque_grows_with_friction_and_vanishing_friction_leaves_the_lead() -> None:
    m = np.linspace(0, 0.4, 20)
    torque = long_si(50e3, 0.011, 0.0015, m, m)
    assert np.all(np.diff(torque) > 0)
    assert torque[0] == pytest.approx(50e3 * 0.0015 / (2 * np.pi))


def test_both_textbook_forms_lie_within_one_percent() -> None:
    for name in PRINTED:
        th = thread.si(name)
        for m in (0.10, 0.15, 0.20):
            k = shigley.nut_factor.si(th.diameter, th.pitch, th.root_diameter, m, m)
            long = long_si(1.0, th.diameter, th.pitch, m, m) / th.diameter
            assert abs(k / long - 1) < 0.01


def test_pounds_and_newtons_agree() -> None:
    inch = long("13500 lbf", "0.4375 in", "0.05 in", 0.12, 0.12)
    metric = long_si(13500 * 4.4482216152605, 0.4375 * 0.0254, 0.05 * 0.0254, 0.12, 0.12)
    assert inch.to("N*m").magnitude == pytest.approx(metric)
    with pytest.raises(InputError) as err:
        long("90 J", "11 kN", "1.5 mm", 1.5, 0.12)
    assert [f.field for f in err.value.faults] == ["preload", "diameter", "thread_friction"]


def test_torque_broadcasts_over_preload_and_friction() -> None:
    f = Q(np.array([40.0, 50.0, 60.0])[:, None], "kN")
    m = np.array([0.1, 0.2])
    assert long(f, "11 mm", "1.5 mm", m, m).shape == (3, 2)
    assert t.torque_short(f, m, "11 mm").shape == (3, 2)
    k = shigley.nut_factor(Q(np.array([10.0, 11.0]), "mm"), "1.5 mm", "8.2 mm", m, 0.1)
    assert k.shape == (2,)


def test_own_bearing_face() -> None:
    small = long("50 kN", "11 mm", "1.5 mm", 0.12, 0.12, head_diameter="14 mm")
    large = long(
        "50 kN", "11 mm", "1.5 mm", 0.12, 0.12, head_diameter="22 mm", inner_diameter="12 mm"
    )
    assert (large - small).to("N*m").magnitude == pytest.approx(50 * 0.12 * (34 - 25) / 4)
    with pytest.raises(InputError, match="head_diameter"):
        long("50 kN", "11 mm", "1.5 mm", 0.12, 0.12, head_diameter="10 mm")


def test_lubricants() -> None:
    oil, moly = t.friction("engine oil"), t.friction("moly paste")
    assert moly.thread < oil.thread
    assert t.friction("oil") == oil
    assert oil.nut_factor == pytest.approx(0.18)
    assert oil.nut_factor_status == "published"
    assert oil.status == "from memory"
    assert t.friction("phosphate").nut_factor is None
    with pytest.raises(InputError, match="lubricant"):
        t.friction("butter")


# ------------------------------------------------------------------ power screw
def test_power_screw_and_nut_factor_share_one_thread() -> None:
    th = thread.si("M12x1.75")
    k = shigley.nut_factor.si(th.diameter, th.pitch, th.root_diameter, 0.15, 0.0)
    dm = (th.diameter + th.root_diameter) / 2
    # a power screw of the same mean diameter, lead and flank
    screw = shigley.power_screw.si(1.0, dm + th.pitch / 2, th.pitch, 0.15, 0.0, 1.0, 1, np.pi / 6)
    assert screw.thread_torque == pytest.approx(k * th.diameter)


# ------------------------------------------------------------------ stress
@fast
@given(m=mu, v=st.floats(0.3, 1.0))
def test_utilisation_comes_back_as_the_equivalent_stress(m: float, v: float) -> None:
    th = thread.si("M11x1.5")
    f = t.preload_at_utilisation.si(940e6, v, th.stress_area, th.pitch, th.pitch_diameter, m)
    torque = long_si(f, th.diameter, th.pitch, m, 0.0)
    stress = t.tightening_stress.si(f, torque, th.stress_area, "plastic")
    assert stress.equivalent == pytest.approx(v * 940e6)


def test_elastic_modulus_reads_higher_than_plastic() -> None:
    args = ("43.48 kN", "37.6 N*m", "57.99 mm**2")
    elastic, plastic = (t.tightening_stress(*args, torsion=k) for k in ("elastic", "plastic"))
    assert (elastic.shear / plastic.shear).magnitude == pytest.approx(4 / 3)
    assert (elastic.equivalent / plastic.equivalent).magnitude == pytest.approx(1.08, abs=0.005)
    for kind, divisor in t.TORSION.items():
        named, given = (t.tightening_stress(*args, torsion=x) for x in (kind, divisor))
        assert named == given
    with pytest.raises(InputError, match='torsion: got "rubber"'):
        t.tightening_stress(*args, torsion="rubber")


def test_more_thread_friction_means_less_preload_at_yield() -> None:
    m = np.linspace(0, 0.3, 10)
    f = t.preload_at_utilisation.si(940e6, 1.0, 58e-6, 0.0015, 0.009026, m)
    assert np.all(np.diff(f) < 0)
    assert f[0] < 940e6 * 58e-6


def test_shear_and_tension_of_the_cantilever_example() -> None:
    shear = Q(3.0, "kip") / Q(np.pi / 4 * 0.25, "in**2")
    assert shear.to("ksi").magnitude == pytest.approx(15.28, abs=0.005)
    stress = t.equivalent_stress(Q(65.74, "ksi"), shear)
    assert 85 - stress.to("ksi").magnitude == pytest.approx(14.1, abs=0.05)


# ------------------------------------------------------------------ stretch and angle
@fast
@given(f=force, e=st.floats(60e9, 220e9))
def test_stretch_is_that_of_the_bolts_spring(f: float, e: float) -> None:
    segments = [(9.5e-5, 0.06), (7.2e-5, 0.03)]
    d = t.stretch.si(f, segments, e)
    assert d == pytest.approx(f / stiffness.bolt_stiffness.si(segments, e))


@fast
@given(f=force, kb=st.floats(1e7, 1e9), km=st.floats(1e7, 1e10))
def test_angle_and_back(f: float, kb: float, km: float) -> None:
    # the nut's travel is what bolt and members give way together
    angle = 2 * np.pi / 0.0015 * f * (1 / kb + 1 / km)
    assert t.preload_from_turn.si(angle, 0.0015, kb, km) == pytest.approx(f)
    assert t.preload_from_turn.si(angle, 0.0015, kb) > f


def test_rod_between_castings() -> None:
    kb = stiffness.bolt_stiffness([("0.75 in", "18 in")], "29e6 psi")
    kr = stiffness.bolt_stiffness([("1.5 in", "12 in")], "10.6e6 psi")
    per_bolt = t.preload_from_turn("90 deg", "0.1 in", kb, kr / 2)
    want = checks.row("angle-stretch", "A3-bolt").want()
    assert per_bolt.to("kip").magnitude == pytest.approx(want.magnitude, abs=5e-4)
    stress = 2 * per_bolt / Q(np.pi / 4 * 1.5**2, "in**2")
    rod = checks.row("angle-stretch", "A3-rod").want()
    assert stress.to("ksi").magnitude == pytest.approx(rod.magnitude, abs=0.005)


def test_bolt_in_a_copper_tube() -> None:
    area = np.pi / 4 * (40**2 - 28**2)
    kb = stiffness.bolt_stiffness([("20 mm", "600 mm")], "200 GPa")
    kt = stiffness.bolt_stiffness([(Q(area, "mm**2"), "600 mm")], "120 GPa")
    # an advance of 0.5 mm is half a turn of a 1 mm pitch
    f = t.preload_from_turn("180 deg", "1 mm", kb, kt).to("N").magnitude
    for id, a in (("A5-bolt", np.pi / 4 * 400), ("A5-tube", area)):
        want = checks.row("angle-stretch", id).want().magnitude
        assert f / a == pytest.approx(want, abs=0.005)


def test_stepped_bolts_take_up_the_printed_energy() -> None:
    f = Q(44 * np.pi / 4 * 0.731**2, "kip")
    want = checks.row("angle-stretch", "A6-force").want()
    assert f.to("kip").magnitude == pytest.approx(want.magnitude, abs=0.005)
    bolts = {
        "A": [("0.875 in", "2 in"), ("0.731 in", "0.25 in")],
        "B": [("0.731 in", "2.25 in")],
    }
    for name, segments in bolts.items():
        energy = f * t.stretch(f, segments, "29e3 ksi") / 2
        want = checks.row("angle-stretch", f"A6-energy-{name}").want()
        assert energy.to("kip*in").magnitude == pytest.approx(want.magnitude, abs=5e-5)


def test_angle_wrong_dimension() -> None:
    with pytest.raises(InputError) as err:
        t.preload_from_turn("90 mm", "1.5 mm", "200 kN", "900 kN/mm")
    assert [f.field for f in err.value.faults] == ["angle", "bolt_stiffness"]


# ------------------------------------------------------------------ scatter
def test_scatter_by_method() -> None:
    low, high = t.preload_scatter("stretch")
    assert (low, high) == (pytest.approx(0.03), pytest.approx(0.05))
    with pytest.raises(InputError, match='did you mean "torque wrench"'):
        t.preload_scatter("torque wrensh")


@fast
@given(s=st.floats(0, 0.9))
def test_tightening_factor_and_back(s: float) -> None:
    a = t.tightening_factor.si(s)
    assert (a - 1) / (a + 1) == pytest.approx(s, abs=1e-12)


def test_measured_preloads_fix_the_definition_of_the_deviation() -> None:
    dry = row("shigley", "BK-dry-deviation")
    sample = shigley.preload_sample(**dry.arguments())
    assert sample.number == 20
    assert sample.deviation.to("kN").magnitude == pytest.approx(4.909, abs=5e-4)
    population = sample.deviation * np.sqrt(19 / 20)
    assert population.to("kN").magnitude == pytest.approx(4.785, abs=5e-4)
    for bad in (["20 kN"], ["20 kN", "20 N*m"], []):
        with pytest.raises(InputError, match="preloads"):
            shigley.preload_sample(bad)
