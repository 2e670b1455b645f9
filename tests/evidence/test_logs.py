"""Reading cylinder-pressure logs: every form that counts, and every way in which one can be bad."""

from pathlib import Path

import numpy as np
import pytest

from sealkit import InputError
from sealkit.evidence import logs

ANGLE = np.arange(-360.0, 360.0, 1.0)


def shape(angle: np.ndarray) -> np.ndarray:
    """A trace that looks like one: compression, burn, expansion [bar]; invented."""
    volume = 1.0 + 4.0 * (1.0 - np.cos(np.radians(angle)))
    burn = 1.0 + 1.6 / (1.0 + np.exp(-(angle - 8.0) / 5.0))
    closed = np.abs(angle) < 180.0
    return np.where(closed, 0.6 + (burn - 1.0) * 0.3 + 25.0 * burn * volume**-1.3, 1.0)


def text(angle: np.ndarray = ANGLE, head: str = "crank angle [deg],pressure [bar]") -> str:
    return "\n".join([head, *(f"{a:g},{p:.4f}" for a, p in zip(angle, shape(ANGLE), strict=True))])


PLAIN = text()
LINES = PLAIN.splitlines()


def changed(line: int, new: str | None) -> str:
    """The plain log with one line replaced (the heading is line 1) or left out."""
    return "\n".join([*LINES[: line - 1], *([] if new is None else [new]), *LINES[line:]])


def columns(count: int, head: str) -> str:
    rows = [
        f"{a:g}," + ",".join([f"{p:.4f}"] * count) for a, p in zip(ANGLE, shape(ANGLE), strict=True)
    ]
    return "\n".join([head, *rows])


def cycles(count: int, zero: float = -360.0, run_on: bool = False) -> str:
    """Cycles one below the other, the first angle at `zero`."""
    rows = [LINES[0]]
    for k in range(count):
        more = 720.0 * k if run_on else 0.0
        rows += [
            f"{a - ANGLE[0] + zero + more:g},{p:.4f}"
            for a, p in zip(ANGLE, shape(ANGLE), strict=True)
        ]
    return "\n".join(rows)


@pytest.mark.parametrize(
    "given",
    [
        PLAIN,
        PLAIN.replace(",", ";"),
        PLAIN.replace(",", "\t"),
        PLAIN.replace("\n", "\r\n") + "\r\n\r\n",
        text(head="CA (deg) , Cylinder pressure (bar)"),
        text(head="theta [°],p_cyl [bar]"),
        "\n".join(["time [s],CAD [deg],p [bar]", *("0," + x for x in LINES[1:])]),
        cycles(1, 0.0),
        cycles(1, 720.0),
        text(np.radians(ANGLE), "angle [rad],pressure [bar]"),
    ],
    ids=range(10),
)
def test_one_cycle_in_many_forms(given: str) -> None:
    log = logs.read(given)
    assert log.cycles == 1 and log.kind == "" and log.unit == "bar"
    np.testing.assert_allclose(np.degrees(log.angle), ANGLE, atol=1e-3)
    np.testing.assert_allclose(log.mean, shape(ANGLE) * 1e5, atol=6.0)


def test_what_was_taken_as_it_came_is_told() -> None:
    assert logs.read(cycles(1, 0.0)).notes == (
        "firing top dead centre taken at 360 deg of the log",
    )
    given = "\n".join(["time [s],CAD [deg],p [bar]", *("0," + x for x in LINES[1:])])
    assert logs.read(given).notes == ("not read: time [s]",)


@pytest.mark.parametrize(
    "given",
    [cycles(4), cycles(4, run_on=True), cycles(4, 0.0), columns(4, "angle [deg]" + ",p [bar]" * 4)],
    ids=["anew", "running on", "from 0", "columns"],
)
def test_many_cycles(given: str) -> None:
    log = logs.read(given)
    assert log.pressure.shape == (4, 720)
    np.testing.assert_allclose(log.pressure, np.tile(shape(ANGLE) * 1e5, (4, 1)), atol=6.0)


def test_cycles_by_their_number() -> None:
    rows = [f"{1 + i // 721},{x}" for i, x in enumerate([*LINES[1:], "360,1"] * 2)]
    log = logs.read("\n".join(["cycle,angle [deg],pressure [bar]", *rows]))
    assert log.pressure.shape == (2, 721)


def test_firing_at_the_edge_of_the_log_loses_no_sample() -> None:
    """0 to 720 with the fire at 0: both ends are firing top dead centre, and are taken as one."""
    angle = np.arange(0.0, 721.0)
    there = np.where(angle > 360.0, angle - 720.0, angle)
    rows = [f"{a:g},{p:.4f}" for a, p in zip(angle, shape(there), strict=True)]
    log = logs.read("\n".join([LINES[0], *rows]))
    assert len(log.angle) == 720 and np.all(np.diff(log.angle) > 0.0)
    np.testing.assert_allclose(log.mean, shape(np.degrees(log.angle)) * 1e5, atol=10.0)


@pytest.mark.parametrize(
    ("unit", "kind", "factor"),
    [
        ("bar", "", 1.0), ("bara", "absolute", 1.0), ("bar abs", "absolute", 1.0),
        ("barg", "gauge", 1.0), ("psig", "gauge", 14.5037738), ("psi (g)", "gauge", 14.5037738),
        ("kPa", "", 100.0), ("MPa", "", 0.1),
    ],
)  # fmt: skip
def test_units(unit: str, kind: str, factor: float) -> None:
    rows = [f"{a:g},{p * factor:.7f}" for a, p in zip(ANGLE, shape(ANGLE), strict=True)]
    log = logs.read("\n".join([f"angle [deg],pressure [{unit}]", *rows]))
    assert log.kind == kind
    np.testing.assert_allclose(log.mean, shape(ANGLE) * 1e5, rtol=1e-5)


ROWS = list(zip(ANGLE, shape(ANGLE), strict=True))
CLIPPED = "\n".join([LINES[0], *(f"{a:g},{min(p, 30.0):.4f}" for a, p in ROWS)])
CLIPPED_4 = "\n".join(
    [LINES[0] + ",pressure [bar]" * 3, *(f"{a:g}{f',{min(p, 30.0):.4f}' * 4}" for a, p in ROWS)]
)
PSI = "\n".join([LINES[0], *(f"{a:g},{14.5038 * p:.4f}" for a, p in ROWS)])
BESIDE = "\n".join(f"{a + 0.5:g},{p:.4f}" for a, p in ROWS)
FLAT = "\n".join(f"{a:g},1" for a in ANGLE)
COMMAS = PLAIN.replace(",", ";").replace(".", ",")
CUT = "\n".join(cycles(3).splitlines()[:-200])
HOSTILE = {
    "empty": ("\n", "log: got .*empty"),
    "heading alone": (LINES[0] + "\n", "a heading alone"),
    "prose": ("the engine ran well\nand then it did not\n", "wanted lines of a crank angle"),
    "binary": ("a,b\n\0\0\0,1\n", "wanted lines of a crank angle"),
    "headings": (PLAIN.replace("pressure", "volume"), "line 1: .*headed"),
    "no heading": ("\n".join(LINES[1:]), "line 1: .*headed"),
    "no unit of angle": (PLAIN.replace(" [deg]", ""), "line 1: got nothing; wanted the unit"),
    "unit of angle": (PLAIN.replace("[deg]", "[mm]"), "line 1: got mm; wanted the unit of the a"),
    "unit of pressure": (PLAIN.replace("[bar]", "[N]"), "line 1: got N; wanted a unit of pressure"),
    "odd unit": (PLAIN.replace("[bar]", "[(((]"), "line 1: got .*a unit of pressure"),
    "text": (changed(5, "-357,high"), 'line 5, column 2: got "high"; wanted a number'),
    "nan": (changed(7, "-355,nan"), "line 7, column 2"),
    "infinite": (changed(7, "-355,inf"), "line 7, column 2"),
    "gap in a line": (changed(9, "-353,"), "line 9, column 2: got nothing"),
    "one cell": (changed(9, "-353"), "line 9: got 1 cells; wanted 2"),
    "decimal comma": (changed(9, "-353,1,02"), "line 9: got 3 cells.*decimal point"),
    "decimal commas": (COMMAS, "point, not a comma"),
    "missing sample": (changed(100, None), "line 100: got -261 after -263 deg"),
    "twice": (changed(100, LINES[98]), "line 100: got -263 after -263"),
    "falling": ("\n".join([LINES[0], *reversed(LINES[1:])]), "after"),
    "cut cycle": (CUT, "lines 1442 to 1961: got cycle 3 with 520 samples; wanted 720"),
    "other angles": (cycles(2) + "\n" + BESIDE, "cycle 3 at other angles"),
    "short": ("\n".join([LINES[0], *LINES[301:400]]), "-60 to 38 deg; wanted -100 to 60"),
    "coarse": ("\n".join([LINES[0], *LINES[1::5]]), "every 5 deg"),
    "wrong dead centre": (cycles(1, -260.0), "the peak at"),
    "constant": (LINES[0] + "\n" + FLAT, "moves by 0 bar"),
    "dead cycle": (cycles(2) + "\n" + FLAT, "cycle 3: got one that moves by"),
    "clipped": (CLIPPED, "cycle 1: got one cut flat at 30 bar"),
    "clipped each time": (CLIPPED_4, "^log, cycle 1 and 3 more: got one cut flat at 30 bar[^\n]*$"),
    "psi as bar": (PSI, r"\(are the numbers in psi\?\)"),
    "wrong unit by 1000": (PLAIN.replace("[bar]", "[kbar]"), "peaks of .*is the unit right"),
    "wrong unit by 100": (PLAIN.replace("[bar]", "[kPa]"), "moves by|peaks of"),
}  # fmt: skip


@pytest.mark.parametrize(("given", "told"), HOSTILE.values(), ids=HOSTILE.keys())
def test_a_bad_log_is_named(given: str, told: str) -> None:
    with pytest.raises(InputError, match=told) as caught:
        logs.read(given)
    assert len(caught.value.faults) <= 8 and len(str(caught.value)) < 2500


def test_files(tmp_path: Path) -> None:
    path = tmp_path / "dyno.csv"
    path.write_text("\ufeff" + PLAIN, encoding="utf-8")
    assert logs.read(path).name == "dyno.csv" and logs.read(str(path)).cycles == 1
    path.write_bytes(b"angle [deg],p [bar]\n\xff\xfe,\x81\n")
    for bad in (path, tmp_path, tmp_path / "none.csv", "none.csv"):
        with pytest.raises(InputError, match="a CSV file that can be read"):
            logs.read(bad)
    with path.open("wb") as handle:
        handle.truncate(300_000_000)
    with pytest.raises(InputError, match=r"dyno.csv: got 300 MB; wanted at most 100 MB"):
        logs.read(path)


def test_blank_lines_do_not_move_the_line_that_is_named() -> None:
    given = PLAIN.replace("\n-300,", "\n\n\n-300,")
    assert logs.read(given).cycles == 1
    at = given.splitlines().index(LINES[199])
    bad = "\n".join([*given.splitlines()[:at], *given.splitlines()[at + 1 :]])
    with pytest.raises(InputError, match=f"line {at + 1}: got"):
        logs.read(bad)


def test_a_round_top_on_a_coarse_converter_is_not_cut() -> None:
    rows = [f"{a:g},{round(p / 0.2) * 0.2:.4f}" for a, p in zip(ANGLE, shape(ANGLE), strict=True)]
    assert logs.read("\n".join([LINES[0], *rows])).cycles == 1


def test_noise_and_spread_of_the_peaks() -> None:
    draw = np.random.default_rng(5)
    rise = 1.0 + 0.06 * draw.standard_normal((400, 1))
    pressure = 1e5 * (shape(ANGLE) * rise + 0.15 * draw.standard_normal((400, 720)))
    log = logs.Log("made", np.radians(ANGLE), pressure, "absolute", "bar")
    assert log.noise == pytest.approx(0.15e5, rel=0.02)
    assert log.peak_variation is not None
    value, sd = log.peak_variation
    assert sd == pytest.approx(0.06 / np.sqrt(800.0), rel=0.1)
    assert abs(value - 0.06) < 2.5 * sd
    assert log.peaks.mean() == pytest.approx(shape(ANGLE).max() * 1e5, rel=0.01)
    at = int(np.argmax(log.mean))
    assert log.between[at] == pytest.approx(0.06 * log.mean[at], rel=0.1)
    one = logs.Log("made", log.angle, pressure[:1], "absolute", "bar")
    assert one.peak_variation is None and not np.any(one.between)
