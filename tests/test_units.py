"""Units: traps of the registry, reading text, showing, and the decorator of public functions."""

from __future__ import annotations

import contextlib
import dataclasses
import importlib
import math
import pkgutil
import pydoc
import re
import time
from dataclasses import dataclass
from typing import Any

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import sealkit
from sealkit import kinds as si
from sealkit import tables, units
from sealkit.errors import Fault, InputError, near, quoted, short
from sealkit.units import (
    KINDS,
    SYSTEMS,
    Q,
    field,
    from_si,
    label,
    parse,
    plain_fields,
    read_fields,
    show,
    to_si,
    with_units,
)
from sealkit.words import Note

# rounding of one conversion of a double, with room for a few steps
ROUNDING = 1e-12


def refused(value: Any, kind: str) -> str:
    """The one line with which this value is refused."""
    with pytest.raises(InputError) as caught:
        to_si(value, kind, "x")
    assert len(caught.value.faults) == 1
    line = str(caught.value)
    assert line.startswith("x: got ") and "; wanted " in line
    assert line.isprintable()
    return line


# --------------------------------------------------------------------------- gauge and absolute
@pytest.mark.parametrize(
    ("text", "pascals"),
    [
        ("18 psi", 18 * 6894.757293168361),
        ("18 psig", 18 * 6894.757293168361),
        ("18 psi gauge", 18 * 6894.757293168361),
        ("18 PSIG", 18 * 6894.757293168361),
        ("1.2 bar", 1.2e5),
        ("1.2 barg", 1.2e5),
        ("1.2 bar gauge", 1.2e5),
        ("1.2 bar(g)", 1.2e5),
        ("120 kPag", 1.2e5),
        ("120 kPa gauge", 1.2e5),
    ],
)
def test_gauge_pressure(text: str, pascals: float) -> None:
    assert to_si(text, "gauge pressure") == pytest.approx(pascals, rel=ROUNDING)


@pytest.mark.parametrize("text", ["32 psia", "32 psi absolute", "2 bara", "2 bar abs", "200 kPaa"])
def test_absolute_pressure_is_no_gauge_pressure(text: str) -> None:
    assert "an absolute pressure came, not a gauge pressure" in refused(text, "gauge pressure")
    assert to_si(text, "pressure") > 1e5


@pytest.mark.parametrize("text", ["18 psig", "1.2 barg", "1.2 bar gauge", "120 kPag", "1 MPag"])
@pytest.mark.parametrize("kind", ["pressure", "stress", "modulus"])
def test_gauge_pressure_is_no_absolute_pressure(text: str, kind: str) -> None:
    assert "a gauge pressure came, not an absolute one" in refused(text, kind)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("1,5 bar", '"1.5 bar"'),
        ("-12,5 degC", '"-12.5 degC"'),
        ("1.234,5 bar", '"1234.5 bar"'),
        ("1,000 bar", '"1.000 bar" or "1000 bar"'),
        ("1,2,3 bar", ""),
    ],
)
def test_a_number_has_no_comma(text: str, meant: str) -> None:
    hint = f"did you mean {meant}? a number has no comma" if meant else "(a number has no comma"
    assert hint in refused(text, "pressure")
    with pytest.raises(InputError, match="a number has no comma"):
        Q(text)  # the registry itself would read 15 bar


def test_gauge_and_absolute_do_not_convert() -> None:
    with pytest.raises(pint.DimensionalityError):
        Q(1.0, "barg").to("bar")
    with pytest.raises(pint.DimensionalityError):
        Q(1.0, "barg") + Q(1.0, "bar")


# --------------------------------------------------------------------------- torque and energy
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("90 N*m", 90.0),
        ("90 Nm", 90.0),
        ("90 NM", 90.0),
        ("90 N·m", 90.0),
        ("90 N m", 90.0),
        ("0.09 kN*m", 90.0),
        ("66 lbf*ft", 66 * 1.3558179483314004),
        ("66 lbf·ft", 66 * 1.3558179483314004),
        ("66 LBF*FT", 66 * 1.3558179483314004),
        ("66 ft-lb", 66 * 1.3558179483314004),
        ("66 FT-LBS", 66 * 1.3558179483314004),
        ("66 ft lb", 66 * 1.3558179483314004),
        ("66 lb-ft", 66 * 1.3558179483314004),
        ("792 in-lb", 66 * 1.3558179483314004),
        ("9 kgf*m", 9 * 9.80665),
    ],
)
def test_torque(text: str, value: float) -> None:
    assert to_si(text, "torque") == pytest.approx(value, rel=ROUNDING)


@pytest.mark.parametrize("text", ["90 J", "0.09 kJ", "66 Btu", "90 W*s"])
def test_energy_is_no_torque(text: str) -> None:
    assert "an energy came, not a torque" in refused(text, "torque")
    assert to_si(text, "energy") > 0


@pytest.mark.parametrize("text", ["90 N*m", "66 lbf*ft", "66 ft-lb"])
def test_torque_is_no_energy(text: str) -> None:
    assert "a torque came, not an energy" in refused(text, "energy")


@pytest.mark.parametrize(
    "unit",
    [
        *("lb*ft", "ft*lb", "ftlb", "ftlbs", "lbft", "lbsft", "ft.lbs", "ft.lb", "FT.LB"),
        *("foot pounds", "foot-pounds", "pound feet", "pound-feet", "Pound Foot", "lb·ft"),
    ],
)
def test_pounds_of_mass_times_feet_are_refused_with_the_right_unit(unit: str) -> None:
    assert 'write "lbf*ft" for a torque' in refused(f"65 {unit}", "torque")


@pytest.mark.parametrize("unit", ["inlb", "in.lbs", "in*lb", "inch pounds", "pound inches"])
def test_pounds_of_mass_times_inches(unit: str) -> None:
    assert 'write "lbf*in" for a torque' in refused(f"65 {unit}", "torque")


@pytest.mark.parametrize("unit", ["lb", "lbs", "pounds", "LBS"])
@pytest.mark.parametrize(
    ("kind", "right"),
    [
        ("gauge pressure", "psi"),
        ("pressure", "psi"),
        ("stress", "psi"),
        ("force", "lbf"),
        ("torque", "lbf*ft"),
    ],
)
def test_plain_pounds(unit: str, kind: str, right: str) -> None:
    assert refused(f"14 {unit}", kind).endswith(f': write "{right}"')
    assert to_si(f"14 {unit}", "mass") == pytest.approx(14 * 0.45359237, rel=ROUNDING)
    assert "write" not in refused(f"14 {unit}", "length")


# --------------------------------------------------------------------------- speed of the crank
def test_crank_speed_is_counted_in_turns() -> None:
    assert to_si("6000 rpm", "crank speed") == pytest.approx(100.0, rel=ROUNDING)
    assert to_si("100 turn/s", "crank speed") == pytest.approx(100.0, rel=ROUNDING)
    assert to_si(Q(200 * math.pi, "rad/s"), "crank speed") == pytest.approx(100.0, rel=ROUNDING)


@pytest.mark.parametrize("text", ["100 Hz", "100 1/s", "0.1 kHz"])
def test_frequency_is_no_crank_speed(text: str) -> None:
    assert "turns or radians are not told" in refused(text, "crank speed")
    assert to_si(text, "frequency") == pytest.approx(100.0, rel=ROUNDING)


@pytest.mark.parametrize("text", ["6000 rpm", "100 turn/s", "628 rad/s", "36000 deg/s"])
def test_crank_speed_is_no_frequency(text: str) -> None:
    assert "a crank speed came, not a frequency" in refused(text, "frequency")


# --------------------------------------------------------------------------- temperature
@pytest.mark.parametrize(
    ("text", "kelvin"),
    [
        ("20 degC", 293.15),
        ("20 °C", 293.15),
        ("20 C", 293.15),
        ("68 degF", 293.15),
        ("68 F", 293.15),
        ("20 DEGC", 293.15),
        ("-12.5 degC", 260.65),
        ("0 K", 0.0),
    ],
)
def test_temperature(text: str, kelvin: float) -> None:
    assert to_si(text, "temperature") == pytest.approx(kelvin, abs=1e-10)


@pytest.mark.parametrize("text", ["80 degC", "80 degF", "80 °C"])
def test_temperature_is_no_difference(text: str) -> None:
    assert "a temperature came, not a difference" in refused(text, "temperature difference")


@pytest.mark.parametrize("text", ["80 delta_degC", "144 delta_degF"])
def test_difference_is_no_temperature(text: str) -> None:
    assert "a temperature difference came" in refused(text, "temperature")
    assert to_si(text, "temperature difference") == pytest.approx(80.0, rel=ROUNDING)


def test_offset_units_inside_compound_units_are_differences() -> None:
    for text in ("11.7e-6/K", "11.7e-6 / degC", "6.5e-6/degF"):
        assert to_si(text, "expansion") == pytest.approx(11.7e-6, rel=ROUNDING)
    with pytest.raises(pint.OffsetUnitCalculusError):
        Q(20.0, "degC") + Q(5.0, "degC")


# --------------------------------------------------------------------------- small lengths
def test_thou_is_a_length_and_mil_is_refused() -> None:
    assert to_si("12 thou", "lift") == pytest.approx(12 * 25.4e-6, rel=ROUNDING)
    for text in ("3 mil", "3 mils", "3 MIL"):
        assert 'write "thou"' in refused(text, "length")


# --------------------------------------------------------------------------- capitals
@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("14 PSI", "gauge pressure", 14 * 6894.757293168361),
        ("2 BAR", "pressure", 2e5),
        ("2 Bar", "pressure", 2e5),
        ("86 MM", "length", 0.086),
        ("3.4 IN", "length", 3.4 * 0.0254),
        ("3.4 Inch", "length", 3.4 * 0.0254),
        ("3.4 in.", "length", 3.4 * 0.0254),
        ('3.4"', "length", 3.4 * 0.0254),
        ("6000 RPM", "crank speed", 100.0),
        ("8 DEG", "angle", math.radians(8)),
        ("60 KN", "force", 60e3),
        ("120 KSI", "stress", 120e3 * 6894.757293168361),
        ("830 MPA", "stress", 830e6),
        ("12 THOU", "lift", 12 * 25.4e-6),
        ("50 CC", "volume", 50e-6),
        ("58 MM**2", "area", 58e-6),
        ("300 M", "length", 300.0),
        ("5.6 KHZ", "frequency", 5600.0),
    ],
)
def test_shop_units_in_capitals(text: str, kind: str, value: float) -> None:
    assert to_si(text, kind) == pytest.approx(value, rel=ROUNDING)


def test_mixed_case_that_means_something_else_is_left_alone() -> None:
    assert to_si("86 Mm", "length") == pytest.approx(86e6)
    assert refused("86 mM", "length")


# --------------------------------------------------------------------------- bare numbers
@pytest.mark.parametrize("value", [86, 86.0, np.float64(86), [86, 87], np.array([86.0])])
@pytest.mark.parametrize("kind", ["length", "pressure", "torque", "angle", "temperature"])
def test_numbers_without_unit_are_refused(value: Any, kind: str) -> None:
    assert "without a unit" in refused(value, kind)


@pytest.mark.parametrize("text", ["3.81", " 3.81 ", "0", "1e-3"])
def test_text_without_unit_is_refused(text: str) -> None:
    assert f'got "{text}" without a unit; wanted a length' in refused(text, "length")


@pytest.mark.parametrize(
    "value",
    [None, True, np.True_, object(), {}, "", "mm", [1, "x"], 1j, 10**400, 10**5000],
    ids=lambda v: type(v).__name__,
)
@pytest.mark.parametrize("kind", ["number", "length"])
def test_what_is_no_quantity(value: Any, kind: str) -> None:
    assert refused(value, kind)


def test_plain_kinds() -> None:
    assert to_si(0.15, "fraction") == 0.15
    assert to_si("15 %", "fraction") == pytest.approx(0.15, rel=ROUNDING)
    assert to_si("0.15", "number") == 0.15
    assert to_si(Q(15, "percent"), "number") == pytest.approx(0.15, rel=ROUNDING)
    assert isinstance(to_si(3, "number"), float)
    np.testing.assert_array_equal(to_si([1, 2], "number"), [1.0, 2.0])
    assert refused("0.15 mm", "number")


def test_arrays_keep_their_shape() -> None:
    out = to_si(Q(np.array([[86, 87], [88, 89]]), "mm"), "length")
    assert out.shape == (2, 2) and out.dtype == float
    np.testing.assert_allclose(out, [[0.086, 0.087], [0.088, 0.089]], rtol=ROUNDING)
    assert "an array in N" in refused(Q([1.0, 2.0], "N"), "length")


def test_stripping_units_is_an_error() -> None:
    with pytest.raises(pint.UnitStrippedWarning):
        np.asarray(Q(np.array([1.0, 2.0]), "mm"))


def test_the_words_of_the_user_stand_in_the_message() -> None:
    assert 'got "86 N*m"; wanted a length' in refused("86 N*m", "length")
    assert refused(Q(86, "N"), "length").startswith("x: got 86 N; wanted a length")


# --------------------------------------------------------------------------- reading text
@pytest.mark.parametrize(
    ("text", "magnitude", "unit"),
    [
        ("86 mm", 86.0, "mm"),
        ("86mm", 86.0, "mm"),
        ("  86 mm\n", 86.0, "mm"),
        ("86\tmm", 86.0, "mm"),
        ("86\u00a0mm", 86.0, "mm"),
        ("-12.5 degC", -12.5, "degC"),
        ("+.5e+1 m", 5.0, "m"),
        ("5. m", 5.0, "m"),
        ("600 W/(m**2*K)", 600.0, "W/m**2/K"),
        ("600 W/(m²·K)", 600.0, "W/m**2/K"),
        ("1005 J/(kg*K)", 1005.0, "J/kg/K"),
        ("750 kg / m ** 3", 750.0, "kg/m**3"),
        ("750 kg m^-3", 750.0, "kg/m**3"),
        ("300 kN/mm", 300.0, "kN/mm"),
        ("1 / K", 1.0, "1/K"),
        ("5 1/K", 5.0, "1/K"),
        ("12 µm", 12.0, "um"),
        ("12 μm", 12.0, "um"),
        ("4 inH2O", 4.0, "inH2O"),
        ("7", 7.0, "dimensionless"),
    ],
)
def test_parse(text: str, magnitude: float, unit: str) -> None:
    found = parse(text)
    assert found.magnitude == magnitude
    assert found.units == units.ureg.Unit(unit)


HOSTILE = [
    "9**9**9",
    "9**9**9 mm",
    "1 m**9**9",
    "1 m^9^9",
    "1 m^9^9^9",
    "1 m****9",
    "1 m**99",
    "1 m**9999999999",
    "1 (m**9)**9",
    "1 ((m))",
    "1 " + "(" * 38 + "m" + ")" * 38,
    "1 m(",
    "1 m)",
    "1 ()",
    "1 m*",
    "1 *m",
    "1 m//s",
    "1 m/9",
    "1 9*m",
    "1 m+m",
    "1 m-m",
    "1 m;m",
    "1 m,m",
    "1 m=m",
    "1 m[0]",
    "1 m{0}",
    "1 __import__('os')",
    "__import__('os').system('true')",
    "1 m.__class__",
    "1 lambda: 0",
    "1 m if m else m",
    "86 mm\x00",
    "86\x1bmm",
    "86\nmm",
    "86\x85mm",
    "86\u2028mm",
    "86 m\u200bm",
    "86 mm\x7f",
    "9" * 1_000_000,
    "9" * 1_000_000 + " mm",
    "1 " + "m" * 1_000_000,
    "1 " + "m*" * 30 + "m m",
    "1 " + "m " * 40,
    "nan",
    "NaN mm",
    "inf mm",
    "-inf mm",
    "Infinity mm",
    "1e999 mm",
    "-1e999",
    "1e9999 mm",
    "٣ mm",
    "３ mm",
    "1 m**³",
    "1 m**٣",
    "²",
    "0x10 mm",
    "1_000 mm",
    "1j mm",
    "86,5 mm",
    "3 9/8 in",
    "3/0 in",
    "3.5 3/8 in",
    "3/8.5 in",
    "3/8/2 in",
    "3/8*2 in",
    "3/8-16",
    "5 1/4 1/2 in",
    "86 mm # comment",
    "86 nonsense",
    "86 mm mm mm mm mm mm mm mm mm mm mm nonsense",
]


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("15/32 in", 0.46875),
        ("3 3/8 in", 3.375),
        ("3-3/8 in", 3.375),
        ("-1 1/2in", -1.5),
        (" 11/8 inch ", 1.375),
        ('7/16"', 0.4375),
    ],
)
def test_fractions_of_an_inch_are_read(text: str, inches: float) -> None:
    assert to_si(text, "length") == pytest.approx(inches * 0.0254, rel=1e-12)


@pytest.mark.parametrize("text", HOSTILE, ids=lambda t: short(t, 24))
@pytest.mark.parametrize("kind", ["length", "number"])
def test_hostile_text_is_one_error_and_fast(text: str, kind: str) -> None:
    start = time.process_time()
    line = refused(text, kind)
    assert time.process_time() - start < 0.5
    assert len(line) < 400


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=90) | st.from_regex(r"[0-9.e+-]{1,6} [mNs*/()^²0-9 .-]{0,20}\Z"))
def test_any_text_is_a_quantity_or_an_input_error(text: str) -> None:
    try:
        found = parse(text, "x")
    except InputError as err:
        assert len(err.faults) == 1 and str(err).isprintable()
    else:
        assert math.isfinite(found.magnitude)


@pytest.mark.parametrize("value", [None, 5, b"86 mm", ["86 mm"], Q(1, "mm")])
def test_parse_takes_text_only(value: Any) -> None:
    with pytest.raises(InputError):
        parse(value)


def test_unknown_unit_suggests_the_near_one() -> None:
    assert 'did you mean "lbf*ft"?' in refused("65 lbf*fo", "torque")


# --------------------------------------------------------------------------- there and back
@settings(max_examples=20, deadline=None)
@given(value=st.floats(-1e9, 1e9))
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_from_si_and_back(kind: str, value: float) -> None:
    assert to_si(from_si(value, kind), kind) == value


@settings(max_examples=10, deadline=None)
@given(values=st.lists(st.floats(-1e9, 1e9), min_size=1, max_size=4))
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_from_si_and_back_for_arrays(kind: str, values: list[float]) -> None:
    np.testing.assert_array_equal(to_si(from_si(np.array(values), kind), kind), values)


@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("system", SYSTEMS)
def test_shop_units_read_back(kind: str, system: str) -> None:
    """A number shown in the shop's unit is the same number again when it is read."""
    unit, _ = getattr(KINDS[kind], system)
    scale, unit = (1e-6, unit[4:]) if unit.startswith("1e-6") else (1.0, unit)
    number = float(units.show_value(321.5, kind, system)) * scale
    text = f"{number!r} {'1' if unit.startswith('/') else ''}{unit}"
    assert to_si(text, kind) == pytest.approx(321.5, rel=1e-11)


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"temperature difference", "expansion"}))
@pytest.mark.parametrize("system", SYSTEMS)
def test_what_is_shown_can_be_read(kind: str, system: str) -> None:
    text = show(321.5, kind, system, decimals=15).replace(",", "")
    assert to_si(text, kind) == pytest.approx(321.5, rel=1e-5)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_the_examples_of_the_messages_are_accepted(kind: str) -> None:
    parts = KINDS[kind].example.split('"')
    for text in parts[1::2] or parts:
        assert isinstance(to_si(text, kind), float)


# --------------------------------------------------------------------------- showing
@pytest.mark.parametrize(
    ("value", "kind", "metric", "inch"),
    [
        (0.086, "length", "86.00 mm", "3.386 in"),
        (12e-6, "lift", "12.0 µm", "0.47 thou"),
        (90.0, "torque", "90.0 N·m", "66.4 lbf·ft"),
        (293.15, "temperature", "20.0 °C", "68.0 °F"),
        (80.0, "temperature difference", "80.0 K", "144.0 °F"),
        (1.2e5, "gauge pressure", "1.20 bar gauge", "17.4 psi gauge"),
        (101325.0, "pressure", "1.0 bar", "15 psi"),
        (100.0, "crank speed", "6,000 rpm", "6,000 rpm"),
        (math.radians(8), "angle", "8.0°", "8.0°"),
        (0.15, "fraction", "15.0 %", "15.0 %"),
        (0.15, "number", "0.150", "0.150"),
        (11.7e-6, "expansion", "11.70 1e-6/K", "6.50 1e-6/°F"),
        (830e6, "stress", "830.0 MPa", "120.38 ksi"),
    ],
)
def test_show(value: float, kind: str, metric: str, inch: str) -> None:
    assert show(value, kind) == metric
    assert show(value, kind, "inch") == inch
    for system, text in (("metric", metric), ("inch", inch)):
        label = units.show_unit(kind, system)
        assert text.endswith(label)
        number = float(text.removesuffix(label).replace(",", ""))
        places = getattr(KINDS[kind], system)[1]
        assert units.show_value(value, kind, system) == pytest.approx(number, abs=0.51 / 10**places)


def test_show_with_own_decimals_and_unknown_names() -> None:
    assert show(0.086, "length", decimals=0) == "86 mm"
    with pytest.raises(InputError, match='"metric" or "inch"'):
        show(0.086, "length", "imperial")
    with pytest.raises(KeyError, match='did you mean "length"'):
        show(0.086, "lenght")


def test_show_value_of_arrays() -> None:
    shown = units.show_value(np.array([0.0254, 0.0508]), "length", "inch")
    np.testing.assert_allclose(shown, [1.0, 2.0], rtol=ROUNDING)
    np.testing.assert_allclose(units.show_value(np.array([0.1]), "fraction"), [10.0])


@pytest.mark.parametrize(
    ("value", "kind", "given", "text"),
    [
        (0.4, "length", "86 mm", "400.00 mm"),
        (0.4, "length", "3 in", "15.748 in"),
        (0.4, "length", "3 cm", "40 cm"),
        (0.4, "length", Q(1, "ft"), "1.3123 ft"),
        (1e6, "gauge pressure", "18 psi", "145.04 psi"),
        (1e6, "gauge pressure", "18 psig", "145.0 psi gauge"),
        (293.15, "temperature", "1 degF", "68.0 °F"),
        (0.4, "length", "3", "400.00 mm"),
        (0.4, "length", "3 N", "400.00 mm"),
        (0.4, "length", "nonsense", "400.00 mm"),
        (0.4, "length", 3, "400.00 mm"),
        (0.4, "number", "3 mm", "0.400"),
    ],
)
def test_show_in_the_unit_of_another(value: float, kind: str, given: Any, text: str) -> None:
    assert units.show_like(value, kind, given) == text


# --------------------------------------------------------------------------- the decorator
@with_units(returns="area")
def part_of_bore(
    bore: si.Length, share: si.Share = 1.0, *, lift: si.Lift0 = None, word: str = ""
) -> Any:
    """Share of a bore's area, for the tests."""
    return np.pi / 4 * bore**2 * share + (0.0 if lift is None else lift)


AREA = math.pi / 4 * 0.086**2


def area(value: Any) -> Any:
    return value.to("m**2").magnitude


def test_door_takes_text_and_quantities_by_position_and_name() -> None:
    for call in (
        part_of_bore("86 mm", "50 %"),
        part_of_bore(Q(86, "mm"), 0.5),
        part_of_bore(bore="8.6 cm", share=0.5, word="kept"),
        part_of_bore("86 mm", share="50 %", lift=None),
        part_of_bore(Q(0.086 / 0.0254, "in"), 0.5),
    ):
        assert area(call) == pytest.approx(AREA / 2, rel=ROUNDING)


def test_defaults_pass_as_plain_numbers() -> None:
    assert area(part_of_bore("86 mm")) == pytest.approx(AREA, rel=ROUNDING)
    assert part_of_bore.si(0.086) == pytest.approx(AREA, rel=ROUNDING)
    assert area(part_of_bore("86 mm", lift="1 m")) == pytest.approx(AREA + 1, rel=ROUNDING)


def test_door_takes_arrays() -> None:
    out = area(part_of_bore(Q(np.array([86.0, 172.0]), "mm"), [0.5, 1.0]))
    np.testing.assert_allclose(out, [AREA / 2, 4 * AREA], rtol=ROUNDING)


def test_door_tells_all_faults_at_once() -> None:
    with pytest.raises(InputError) as caught:
        part_of_bore(86, 1.5, lift="-1 mm")
    found = {f.field: str(f) for f in caught.value.faults}
    assert list(found) == ["bore", "share", "lift"]
    assert "86 without a unit" in found["bore"]
    assert "from 0 to 1" in found["share"]
    assert "not below 0" in found["lift"]


@pytest.mark.parametrize("bad", ["0 mm", "-1 mm", Q(math.nan, "mm"), Q(math.inf, "mm")])
def test_door_keeps_the_range(bad: Any) -> None:
    with pytest.raises(InputError, match=r"bore: got .*above 0"):
        part_of_bore(bad)


@pytest.mark.parametrize("share", [0, 1, [0.0, 1.0]])
def test_closed_ends_are_inside(share: Any) -> None:
    assert np.all(np.isfinite(area(part_of_bore("86 mm", share))))


@pytest.mark.parametrize("share", [-1e-9, 1 + 1e-9, math.nan, [0.5, 2.0], [0.5, math.nan]])
def test_beyond_closed_ends(share: Any) -> None:
    with pytest.raises(InputError, match="share: got"):
        part_of_bore("86 mm", share)


def test_none_is_allowed_only_where_it_is_the_default() -> None:
    with pytest.raises(InputError, match="share"):
        part_of_bore("86 mm", None)
    with pytest.raises(InputError, match="bore"):
        part_of_bore(None)


def test_range_is_told_in_the_unit_that_came() -> None:
    @with_units(bore="length 0.02..0.4")
    def double(bore: Any) -> Any:
        return 2 * bore

    with pytest.raises(InputError) as caught:
        double("30 in")
    assert 'got "30 in"' in str(caught.value)
    assert "from 0.02 to 0.4 (in m; 0.787 in to 15.748 in)" in str(caught.value)
    with pytest.raises(InputError, match=r"got 30 in;"):
        double(Q(30, "in"))
    with pytest.raises(InputError, match=r"got 0\.762 m;"):
        double(Q(np.array([1.0, 30.0]), "in"))
    assert double("1 in") == pytest.approx(0.0508)


def test_wrong_calls_are_type_errors() -> None:
    for call in (
        lambda: part_of_bore(),
        lambda: part_of_bore("1 mm", boar="1 mm"),
        lambda: part_of_bore("1 mm", 1, 2),
    ):
        with pytest.raises(TypeError):
            call()


def test_unknown_argument_and_unknown_kind_are_told_when_decorating() -> None:
    with pytest.raises(TypeError, match="no argument"):
        with_units(boar="length")(lambda bore: bore)
    with pytest.raises(KeyError, match='did you mean "length"'):
        with_units(bore="lenght > 0")
    with pytest.raises(KeyError, match="cannot read"):
        with_units(bore="length between 1 and 2")
    with pytest.raises(KeyError, match="no kind"):
        units.field("nothing of the sort")


def test_returns_a_tuple_none_or_one() -> None:
    @with_units(returns=("length", "number"), x="length")
    def pair(x: Any) -> Any:
        return x, 2.0

    @with_units(x="length")
    def plain(x: Any) -> Any:
        return x

    length, number = pair("86 mm")
    assert length.to("mm").magnitude == pytest.approx(86.0)
    assert number == 2.0 and not isinstance(number, pint.Quantity)
    assert plain("86 mm") == pytest.approx(0.086) and isinstance(plain("86 mm"), float)
    assert pair.returns == ("length", "number") and pair.kinds == {"x": "length"}
    assert pair.__name__ == "pair"

    @with_units(returns=("length",), x="length")
    def too_many(x: Any) -> Any:
        return x, x

    with pytest.raises(ValueError, match="zip"):
        too_many("1 m")


@dataclasses.dataclass(frozen=True)
class Answer:
    """A result, for the tests."""

    load: Any = units.field("force")
    share: Any = units.field("fraction")
    gap: Any = units.field("lift", default=None)
    word: str = ""


@with_units(returns="fields", load="force >= 0")
def answer(load: Any, gap: Any = None) -> Answer:
    """A result, for the tests."""
    return Answer(load, 0.5, gap, "kept")


def test_returns_fields() -> None:
    out = answer("60 kN")
    assert out.load.to("kN").magnitude == pytest.approx(60.0)
    assert out.share == 0.5
    assert out.gap is None
    assert out.word == "kept"
    assert answer.si(60e3) == Answer(60e3, 0.5, None, "kept")


def test_quantify_leaves_the_original() -> None:
    plain = Answer(np.array([1.0, 2.0]), 0.5, 12e-6)
    out = units.quantify(plain)
    assert out.load.units == units.ureg.Unit("N")
    assert out.gap.to("um").magnitude == pytest.approx(12.0)
    assert isinstance(plain.load, np.ndarray) and plain.gap == 12e-6


# --------------------------------------------------------------------------- errors
def test_short_words() -> None:
    assert short("a\x1b\nb") == '"a  b"'
    assert short("x" * 1_000_000) == '"' + "x" * 57 + '..."'
    assert short([1, 2]) == "[1, 2]"
    assert short(10**5000) == "a number too long to show"


def test_quoted_names() -> None:
    assert quoted(["a, b", "c"]) == '"a, b", "c"'
    assert quoted("abc", 2) == '"a", "b", ...'
    assert quoted("ab", 2) == '"a", "b"'
    assert quoted([]) == ""


def test_near_words() -> None:
    assert near("LENGHT", ["length", "Lift"]) == ' (did you mean "length"?)'
    assert near("zzz", ["length"]) == ""
    assert near("a" * 1_000_000, ["length"]) == ""


def test_an_input_error_prints_one_line_each() -> None:
    err = InputError([Fault("a", "1", "2"), Fault("b", "3", "4")])
    assert str(err) == "a: got 1; wanted 2\nb: got 3; wanted 4"
    assert InputError(Fault("a", "1", "2")).faults == (Fault("a", "1", "2"),)


def test_roughness_is_micrometres_here_and_microinches_there() -> None:
    assert show(0.8e-6, "roughness") == "0.80 µm"
    assert show(to_si("32 uin", "roughness"), "roughness", "inch") == "32 µin"
    for text in ("32 µin", "32 microinch", "32e-6 in", "0.8128 um"):
        assert to_si(text, "roughness") == pytest.approx(0.8128e-6)


def test_decimals_below_zero_round_whole_numbers() -> None:
    made = to_si("1064701 lbf/in", "stiffness")
    assert show(made, "stiffness", "inch") == "1,065,000 lbf/in"
    assert show(made, "stiffness", "inch", 0) == "1,064,701 lbf/in"


def test_a_cell_that_quotes_a_quantity_is_a_note() -> None:
    head = "key,note,source,status\n"
    (row,) = tables.read_csv(head + "x,not below {0.5 mm},here,invented\n", "sizes")
    assert isinstance(row["note"], Note) and row["note"].text("inch") == "not below 0.020 in"
    assert tables.load("bearing_limits")["grey iron, GJL-250"]["note"].text("inch").endswith("ksi")


# --------------------------------------------------------------------------- help
def doors() -> dict[str, Any]:
    out = {}
    for info in pkgutil.walk_packages(sealkit.__path__, "sealkit."):
        if not info.name.endswith("__main__") and "_course" not in info.name:
            module = importlib.import_module(info.name)
            for name, item in vars(module).items():
                if (
                    hasattr(item, "si")
                    and hasattr(item, "kinds")
                    and getattr(item, "__module__", "") == info.name
                ):
                    out[f"{info.name}.{name}"] = item
    return out


def test_help_shows_kind_unit_and_range_of_every_argument() -> None:
    found = doors()
    assert len(found) > 60
    for name, door in found.items():
        text = pydoc.render_doc(
            door,
            renderer=pydoc.plaintext,  # type: ignore[attr-defined]
        )
        for argument, spec in door.kinds.items():
            name_, span = re.fullmatch(r"([a-z ]+?) ?([^a-z ].*)?", spec).groups()  # type: ignore
            kind = KINDS[name_]
            start = f"{argument} : {kind.words}"
            line = next(x.strip() for x in text.splitlines() if x.strip().startswith(start))
            assert f"[{kind.si}]" in line or not kind.si, (name, line)
            for bound in re.split(r"[>=. ]{2,}|> ", span or ""):
                assert not bound or f"{float(bound):g}" in line, (name, line)


def test_help_keeps_the_words_of_the_function() -> None:
    @with_units(returns="area", width="length 0.01..2", share="fraction")
    def part(width: Any, share: Any) -> Any:
        """Part of a square."""
        return share * width * width

    assert part.__doc__ is not None
    assert part.__doc__.splitlines()[0] == "Part of a square."
    assert "width : a length [m], from 0.01 to 2" in part.__doc__
    assert "share : a plain number or a percentage\n" in part.__doc__
    assert part.__doc__.endswith("returns : an area [m**2]")


def test_a_unit_is_labelled_as_it_is_printed() -> None:
    assert [label(u) for u in ("N*m", "mm**2", "lbf*ft", "kg/m**3", "J*s", "psi")] == [
        *("N·m", "mm²", "lbf·ft", "kg/m³", "J·s", "psi")
    ]


@pytest.mark.parametrize(
    "unit",
    ["neper", "1/neper", "m*neper", "decibel", "dBm", "dBm*m", "decade/s", "octave", "dBm*degC"],
)
@pytest.mark.parametrize("kind", ["length", "number", "temperature", "torque", "gauge pressure"])
def test_levels_are_refused_by_name_however_they_come(unit: str, kind: str) -> None:
    made: list[Any] = [f"3 {unit}"]
    for number in (3.0, [3.0, 2.0]):
        with contextlib.suppress(Exception):  # some of them the registry will not make
            made.append(Q(number, unit))
    for value in made:
        refused(value, kind)


# --------------------------------------------------------------------------- classes
@dataclass(frozen=True)
class Sized:
    name: str
    width: Any = field("length > 0")
    load: Any = field("force", default=1.0)

    def __post_init__(self) -> None:
        plain_fields(self)


def test_a_class_reads_quantities_and_keeps_plain_numbers() -> None:
    for width in ("0.5 in", Q(0.5, "in"), Q(12.7, "mm"), 0.0127):
        assert Sized("x", width).width == pytest.approx(0.0127)
    many = np.array([1.0, 2.0])
    assert Sized("x", many).width is many
    assert Sized("x", Q(many, "mm")).width == pytest.approx(many / 1e3)
    assert Sized("x", 1).load == 1.0


@pytest.mark.parametrize(
    "width", ["5 kN", Q(5, "kN"), [Q(5, "mm")], np.array([Q(5, "mm")], object)]
)
def test_a_class_refuses_other_quantities_by_name(width: Any) -> None:
    with pytest.raises(InputError, match="width"):
        Sized("x", width)


def test_fields_are_read_together_and_every_fault_told() -> None:
    assert read_fields(Sized, {"name": "x", "width": "5 mm", "load": "1 kN"}) == {
        "name": "x",
        "width": pytest.approx(5e-3),
        "load": pytest.approx(1e3),
    }
    with pytest.raises(InputError) as caught:
        read_fields(Sized, {"name": "x", "width": "-5 mm", "load": 3.0})
    assert [f.field for f in caught.value.faults] == ["width", "load"]
    with pytest.raises(InputError, match="2 values"):
        read_fields(Sized, {"width": Q([1, 2], "mm")})
