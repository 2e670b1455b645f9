"""The report on one build: its numbers, its limits, and the verdict."""

from __future__ import annotations

import dataclasses
import functools
import html
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sealkit import build as sheets
from sealkit import tables
from sealkit.analysis import Clamp, Gas, Warm, deck_side, gas_side, judged, margins, wrench
from sealkit.analysis.deck_side import DeckSide
from sealkit.analysis.margins import Case, Failure, Limit
from sealkit.build import Build
from sealkit.report import record
from sealkit.report.band import (
    BOW,
    Moves,
    Place,
    alternatives,
    band_of,
    banded,
    in_proportion,
    moves,
    place,
    with_knock,
    with_the_seal,
)
from sealkit.report.boost import Bands, Held, held
from sealkit.report.notes import notes_on
from sealkit.report.record import AVERAGE, MAP
from sealkit.report.window import Window, window
from sealkit.sealing.joint import Assembly, Joint, JointState
from sealkit.sealing.limit import Band, Moment, Outcome, Preload, Temperature, lesser, worst
from sealkit.units import show
from sealkit.words import Note

if TYPE_CHECKING:
    import pandas as pd

BEFORE = "without gas"
_WORST = Outcome.FAILS, Outcome.CLOSE, Outcome.HOLDS
THIN = 0.1  # a margin below this is a thin reserve; common practice, no source


def percent(margin: float) -> str:
    """A margin in words; with a decimal where it is near zero."""
    if not np.isfinite(margin):
        return "no demand"
    if margin > 10:
        return "over 10 times"
    return f"{100 * margin:+.{1 if abs(margin) < 0.1 else 0}f} %"


def outcome_words(outcome: Outcome) -> str:
    """In a table: what is not sure stands in capitals."""
    return str(outcome) if outcome is Outcome.HOLDS else str(outcome).upper()


def band_words(band: Band | None) -> str:
    """A band of margins in words: "-4 to +12 %"; empty where it is no wider than it is read."""
    if band is None or not np.isfinite(band.low):
        return ""
    if band.low > 10.0:
        return "over 10 times"
    # near zero the sign decides: with a decimal there
    ends = (100.0 * x for x in (band.low, min(band.high, 10.0)))
    low, high = (f"{x:+.{1 if abs(x) < 0.5 else 0}f}" for x in ends)
    if low == high or {low, high} <= {"-0.0", "+0.0"}:
        return ""
    low, high = (x.replace("-0.0", "0").replace("+0.0", "0") for x in (low, high))
    return f"{low} % to over 10 times" if band.high > 10.0 else f"{low} to {high} %"


def margin_words(row: Limit) -> tuple[str, str]:
    """The margin of the limit that decides, and what that is: where it is unsure, its band."""
    if row.outcome is Outcome.CLOSE and (band := band_words(row.band)):
        return band, "with other choices of the model"
    return percent(float(row.margin)), "least margin"


def turned_words(row: Limit) -> str:
    """The band of a limit that is too close to call, how it stands and what turns it."""
    stands = "holds" if row.holds else "fails"
    turns = f"{stands} but for {row.turned_by}" if row.turned_by else ""
    return ", ".join(filter(None, (band_words(row.band), turns)))


def deciding(rows: Iterable[Limit]) -> Limit:
    """The limit that a verdict hangs on: the weakest of those whose outcome is the worst."""
    return min(ranked(rows), key=lambda r: _WORST.index(r.outcome))


def most_doubtful(rows: Iterable[Limit]) -> tuple[Limit, ...]:
    """The limits by outcome, worst first; alike in that, by the low ends of their bands."""

    def low(row: Limit) -> tuple[int, float]:
        return _WORST.index(row.outcome), float(row.margin) if row.band is None else row.band.low

    return tuple(sorted(ranked(rows), key=low))


def ranked(rows: Iterable[Limit]) -> tuple[Limit, ...]:
    """The limits, weakest first; a blow-out, which follows from a lost seal, comes after that."""
    every = tuple(rows)
    seal = min((float(r.margin) for r in every if r.check == "residual"), default=-np.inf)

    def place(row: Limit) -> tuple[float, bool]:
        margin, follows = float(row.margin), row.check == "blow-out"
        return max(margin, seal) if follows else margin, follows

    return tuple(sorted(every, key=place))


@dataclass(frozen=True)
class Report:
    """Everything worked out for one build. Numbers are plain SI.

    `sealkit.report.tables` and `sealkit.paper` show them.

    `sealing` is the joint with the low end of the preload, without gas, at the `temperature` (cold
    or hot) at which its seal stands worse.
    `deck` is the map of the deck, where it was asked for; what it knows counts in `limits` and
    `order` in place of the average joint's. `like` is the report that this one was tightened anew
    from, whose other bows of the head it takes in proportion.
    """

    build: Build
    gas: Gas
    clamp: Clamp
    joint: Joint
    case: Case
    nominal: Assembly
    warm: Warm
    sealing: Assembly
    temperature: Temperature
    limits: tuple[Limit, ...]
    deck: DeckSide | None = None
    like: Report | None = None

    def bore_clamp(self, preload: Any) -> Any:
        """Clamp of one bore, N, where each fastener that counts for it has this preload, N."""
        return self.joint.bolts * np.asarray(preload)

    @functools.cached_property
    def warnings(self) -> tuple[Note, ...]:
        """What is worth knowing beside the limits."""
        return notes_on(self.build, self.gas, self.clamp, self.case, self.gas.design_gauge)

    @functools.cached_property
    def over_angle(self) -> JointState:
        """The joint that is `sealing` over the cycle it is sized on."""
        return self.joint.under_gas(self.sealing, self.gas.sizing)

    # ------------------------------------------------------------------ verdict
    @functools.cached_property
    def banded(self) -> tuple[Limit, ...]:
        """The limits with the bands of their margins, weakest first, worked out when asked for.

        The band of each state is its own, and the lowest of them counts; where knock may add to
        the peak, low ends are those with that load.
        """
        missing = self.gas.knock_missing or 0.0
        if missing == 0.0:
            return ranked(self._calm)
        loud = self.gas.design_gauge + missing
        self.moved(self.gas.design_gauge, loud)
        return ranked(with_knock(self._calm, self._with_bands(loud, "knock")))

    @functools.cached_property
    def _calm(self) -> tuple[Limit, ...]:
        """The same without the knock that the sheet leaves out."""
        return self._with_bands(self.gas.design_gauge)

    def _with_bands(self, peak: float, load: str = "") -> tuple[Limit, ...]:
        bands = self.bands_at(peak, load)
        return with_the_seal(banded(row, bands.get(row.key, ())) for row in self.limits)

    def bands_at(self, peak: float, load: str = "") -> dict[str, list[tuple[float, Band]]]:
        """By key of limit, its margin and band in each state at a gas pressure, Pa over the air.

        One that the map of the deck judges moves as that of the average joint in this state
        (`band.in_proportion`), an assumption, also with other gas where the map was not looked at
        with it. The bow of the hot head is worked out on the map, whose accuracy is one more
        choice. What springs back moves as in an average joint that is not lifted off: on the map
        the neighbours hold the head down. A seal that has lost touch has load again only as far as
        it springs back further than the head lifts, on a straight line; maps of their own with both
        choices make the tops within a tenth of that.
        """
        found, mapped = self.moved(peak), self.mapped
        bow = tables.load("alternatives")[BOW]["what"]
        bows = {k: {bow: (min(x.values()), max(x.values()))} for k, x in self.other_bow.items()}
        bands = self._of_average(found, {key for key, *_ in mapped}, load)
        springs: dict[tuple[Any, ...], Band] = {}
        for when, row in sorted(mapped.items(), key=lambda x: x[1].check == "residual"):
            assert self.deck is not None
            margin, falls = float(row.signed), when in self.deck.falls
            alike = [when] if when in found else [x for x in found if x[0] == row.key]
            own: Moves = {}
            if alike:
                it = min(alike, key=lambda x: found[x][0])
                usual, (now, their) = self.moved(self.gas.design_gauge)[it][0], found[it]
                if falls:
                    margin = self.deck.fallen(when, self.deck.falls[when][0], peak)
                elif own := in_proportion(margin, (usual, {"": (now, now)})):
                    margin = own[""][0]
                if row.check == "springback":
                    now, their = self.moved(min(self.gas.design_gauge, self.held_down))[it]
                own = in_proportion(margin, (now, their), row.check)
            own.pop(bow, None)
            rest = (*when[:3], Moment.REST)
            there = bows.get(when, {})
            if row.band is not None:
                there = there | {row.band.lowest_by: (row.band.low, row.band.high)}
            if when not in bows and rest in bows:
                own |= in_proportion(margin, (float(mapped[rest].margin), bows[rest]))
            if falls:
                fallen = functools.partial(self.deck.fallen, when, peak=peak)
                own |= {what: (fallen(low), fallen(high)) for what, (low, high) in there.items()}
            elif margin == float(row.signed):
                own |= there
            else:
                own |= in_proportion(margin, (float(row.signed), there))
            band = band_of(margin, own, row.check, load)
            if row.check == "springback":
                springs[when[1:]] = band
            elif row.check == "residual" and when[1:] in springs:
                follows, most = float(mapped["springback", *when[1:]].margin), springs[when[1:]]
                touch = (1.0 + float(row.signed)) / follows * most.high - 1.0 if follows else -1.0
                if margin <= -1.0 and most.high < 0.0:
                    band = band._replace(high=-1.0, highest_by="")
                elif touch > band.high:
                    band = band._replace(high=touch, highest_by=most.highest_by)
            bands.setdefault(row.key, []).append((max(margin, -1.0), band))
        return bands

    @functools.cached_property
    def held_down(self) -> float:
        """Gas pressure up to which no choice lifts the average joint off, Pa."""
        peak = self.gas.design_gauge
        low = [
            min(margin, *(low for low, _ in their.values()))
            for (key, *_), (margin, their) in self.moved(peak).items()
            if key == "lift-off"
        ]
        return peak * (1.0 + min(low))

    @staticmethod
    def _of_average(
        found: Mapping[Place, tuple[float, Moves]], mapped: set[str], load: str = ""
    ) -> dict[str, list[tuple[float, Band]]]:
        """Of `bands_at` what no map judges."""
        bands: dict[str, list[tuple[float, Band]]] = {}
        for (key, *_), (margin, their) in found.items():
            if key not in mapped:
                band = band_of(margin, their, key.split("/")[0], load)
                bands.setdefault(key, []).append((margin, band))
        return bands

    def moved(self, peak: float, *more: float) -> dict[Place, tuple[float, Moves]]:
        """The average joint's margins and what other choices of the model make of them.

        Those at `more` pressures are worked out with it and kept.
        """
        if new := [p for p in (peak, *more) if p not in self._moved]:
            self._moved.update(zip(new, moves(self.build, self.gas, new), strict=True))
        return self._moved[peak]

    @functools.cached_property
    def _moved(self) -> dict[float, dict[Place, tuple[float, Moves]]]:
        return {} if self.deck is None else self.average._moved

    @functools.cached_property
    def average(self) -> Report:
        """The same report by the average joint alone, its map left aside."""
        if self.deck is None:
            return self
        rows = margins.limits(self.case, self.gas.design_gauge)
        return dataclasses.replace(self, limits=margins.worse(rows), deck=None)

    @functools.cached_property
    def mapped(self) -> dict[Place, Limit]:
        """The limits that the map judges, in each state that with the least margin."""
        out: dict[Place, Limit] = {}
        for row in () if self.deck is None else self.deck.limits:
            out[place(row)] = lesser(out.get(place(row), row), row)
        return out

    @functools.cached_property
    def order(self) -> tuple[Failure, ...]:
        """The limits in the order in which they are reached; worked out when first asked for."""
        if self.deck is not None:
            return self.deck.order(self.average.order)
        return margins.order_of_failure(self.case, margins.up_to(self.gas.design_gauge))

    @functools.cached_property
    def other_bow(self) -> dict[Place, dict[float, float]]:
        """The margins on the map with other bows of the hot head, in every state that knows of it.

        Each by how much hotter the fire side of the head is at full load than its top [K].
        """
        out: dict[Place, dict[float, float]] = {}
        if self.deck is None:
            return out
        if self.like is not None:
            for when, theirs in self.like.other_bow.items():
                if when in self.mapped:
                    margin, at_sheet = (float(r.mapped[when].margin) for r in (self, self.like))
                    own = {str(by): (x, x) for by, x in theirs.items()}
                    moved = in_proportion(margin, (at_sheet, own))
                    out[when] = {float(by): x for by, (x, _) in moved.items()}
            return {when: by for when, by in out.items() if by}
        for _, path, value in alternatives(self.build):
            if path != BOW:
                continue
            other = self.build.vary_si({path: value})
            case, warm = judged(other, self.gas.design_gauge)
            for row in deck_side.with_other_bow(other, self.deck, case, warm):
                by = out.setdefault(place(row), {})
                by[value] = min(by.get(value, np.inf), float(row.signed))
        return out

    @functools.cached_property
    def held(self) -> Held:
        """Up to which boost it holds, nothing else changed; worked out when first asked for."""

        def bands_at(peaks: Sequence[float]) -> list[Bands]:
            self.moved(*peaks)
            return [self.bands_at(p) for p in peaks]

        return held(self.build, self.gas, self.order, self.limits, bands_at)

    @functools.cached_property
    def window(self) -> Window:
        """From which to which tightening it holds, all else as it is; worked out when asked for.

        With a map of the deck that takes up to three times as long as the map itself, and once more
        where the sheet is far outside: a map moves in proportion only near where it was made.
        """
        setting, peak = wrench.set_by(self.build), self.gas.design_gauge
        if setting is None:
            return Window("", "", 0.0)
        field, missing = setting[0], self.gas.knock_missing or 0.0
        peaks = [peak, peak + missing] if missing else [peak]
        judged_there = {key for key, *_ in self.mapped}
        if judged_there and (inside := self.average.window.inside):
            near = run(self.build.vary_si({field: inside}), self.gas, deck=True)
            return near.window._replace(sheet=setting[2])

        def alone(values: Sequence[float]) -> Sequence[Sequence[Bands]]:
            every, own = [p for p in peaks for _ in values], {field: [*values] * len(peaks)}
            found = moves(self.build, self.gas, every, own)
            bands: list[Bands] = [self._of_average(x, judged_there) for x in found]
            return [bands[i :: len(values)] for i in range(len(values))]

        def mapped(value: float, end: Preload) -> Sequence[Bands]:
            made = self._tightened(field, value, end, peaks[-1])
            made.moved(*peaks)
            return [made.bands_at(p) for p in peaks]

        here: list[Bands] = [self.bands_at(p) for p in peaks]
        ends = dict(sheets.fields())[field].limits
        by_map = mapped if judged_there else None
        yields = setting[2] * float(
            self.clamp.yield_preload * (1.0 + self.clamp.scatter) / self.clamp.asked_high
        )
        found = window(setting, self.limits, here, alone, by_map, ends, yields)
        return found._replace(knocks=self.knock == "left out")

    def _tightened(self, field: str, value: float, end: Preload, loud: float) -> Report:
        """The same build with another torque, angle or stretch (plain SI), up to a loud peak (Pa).

        Its map judges one end of the preload: only the bore that is weakest here is fired anew on
        it, and other bows of the head move what they move here in proportion (assumptions).
        """
        assert self.deck is not None
        other = run(self.build.vary_si({field: value}), self.gas)
        side = deck_side.tightened_anew(
            other.build, self.deck, other.clamp, other.case, other.warm, end, loud
        )
        rows = side.counting(margins.limits(other.case, self.gas.design_gauge))
        return dataclasses.replace(other, limits=margins.worse(rows), deck=side, like=self)

    def boost_words(self, system: str = "metric") -> tuple[str, ...]:
        """The same in words, and what speaks against more boost than the sheet's."""
        rare = (self.gas.rare_knock or 0.0) >= 1.0
        return self.held.words(self.build.charge.boost, system, rare)

    @property
    def outcome(self) -> Outcome:
        """Whether every limit holds at the design peak pressure.

        Too close to call where none fails for sure and one or more of them hold or fail with a
        choice of the model, or with knock in the cycle designed for: their `band` straddles zero;
        and where all hold, but every other cycle is expected to knock and the sheet adds less.
        """
        return Outcome.CLOSE if self.leaves_knock_out else worst(r.outcome for r in self.banded)

    @property
    def holds(self) -> bool:
        """Whether every limit holds, whatever choice of the model is taken."""
        return self.outcome is Outcome.HOLDS

    @functools.cached_property
    def decides(self) -> Limit:
        """The limit that the verdict hangs on: the weakest of those with the worst outcome."""
        return deciding(self.banded)

    @property
    def close(self) -> tuple[Limit, ...]:
        """The limits that are too close to call, weakest first."""
        return tuple(r for r in self.banded if r.outcome is Outcome.CLOSE)

    @property
    def knock_integral(self) -> str:
        """The knock integral in words: of the mean cycle where that knocks, or of the rare one."""
        mean, rare = self.gas.knock_integral, self.gas.rare_knock
        if mean >= 1.0 or rare is None:
            return f"knock integral {mean:.2f} in the mean cycle"
        return f"knock integral {rare:.2f} in the cycle designed for"

    @property
    def knock(self) -> str:
        """How knock is reckoned with, one of `record.KNOCK`.

        Rare knock is a matter of pressure, which the bands tell; what knocks all the time also
        heats and hammers head, piston and gasket, and that is in no limit.
        """
        g = self.gas
        no, loads, bands, left_out, unjudged = record.KNOCK
        if max(g.knock_integral, g.rare_knock or 0.0) < 1.0:
            return no
        if g.knock_missing == 0.0:
            return loads if g.knock_judged else unjudged
        return left_out if g.knock_integral >= 1.0 else bands

    @functools.cached_property
    def leaves_knock_out(self) -> bool:
        """Whether every limit holds without knock, and knock turns that or is not in the loads."""
        loud = self.knock == "left out" or (self.knock == "in the bands" and bool(self.close))
        if not loud or not all(row.holds for row in self.limits):
            return False
        return worst(row.outcome for row in self._calm) is Outcome.HOLDS

    @property
    def weakest(self) -> Limit:
        """The limit with the smallest margin."""
        return margins.weakest(self.limits)

    @functools.cached_property
    def everywhere(self) -> tuple[Limit, ...]:
        """The limits in every state in which they are looked at, by average joint or map."""
        rows = margins.limits(self.case, self.gas.design_gauge)
        return rows if self.deck is None else self.deck.counting(rows)

    @property
    def first_failure(self) -> Failure | None:
        """The limit reached first as the peak pressure rises; None if none is in the range."""
        first = self.order[0]
        return first if np.isfinite(first.pressure) else None

    @property
    def sure_failure(self) -> Failure | None:
        """The first that is reached whatever choice of the model is taken; None if none is."""
        sure = {r.key for r in self.banded if r.outcome is Outcome.FAILS}
        return next((f for f in self.order if f.limit.key in sure), None)

    @property
    def well_enough(self) -> str:
        """What goes after "nobody has measured" where something was measured."""
        return " well enough" if sheets.half_widths(self.build.evidence) else ""

    def unsure(self, failure: Failure) -> bool:
        """Whether the limit of a failure is too close to call."""
        return failure.limit.key in {r.key for r in self.close}

    @property
    def by_what(self) -> str:
        """Words where the average joint alone counts, though the sheet has a deck."""
        return f", by the {AVERAGE}" if self.build.deck and self.deck is None else ""

    @property
    def by(self) -> str:
        """What the verdict stands on: the deck map where it was asked for."""
        return AVERAGE if self.deck is None else MAP

    def standing(self, system: str = "metric") -> str:
        """The verdict in one line, with its reserve, whose that is and what stands against it."""
        told = self.build.evidence
        return f"{self._stands(system)}{f'; but {told.doubt}' if told and told.doubt else ''}"

    def _stands(self, system: str) -> str:
        w = self.decides
        words = str(self.outcome).capitalize()
        band = band_words(w.band)
        title = w.title.text(system)
        more = f"{f' ({band} with other choices of the model)' if band else ''}: {title}"
        if self.leaves_knock_out:
            words += f": holds only without knock ({self.knock_integral})"
        words += self.by_what.removeprefix(",")
        if self.outcome is Outcome.FAILS:
            return f"{words}: short by {percent(-w.margin).lstrip('+')}{more}"
        if self.close:
            others = len(self.close) - 1
            more = f"; and {others} more limit{'s' * (others > 1)}" if others else ""
            by = f"; what decides: {w.turned_by}" if w.turned_by else ""
            return (
                f"{words}: {title}, {percent(w.margin)} as taken "
                f"({'holds' if w.holds else 'fails'}), {band_words(w.band)} with other choices of "
                f"the model{by}{more}"
            )
        thin = "only a thin reserve of " if w.margin < THIN else ""
        reserve = percent(w.margin).lstrip("+")
        return f"{words}, with {thin}{reserve}{'' if thin else ' in reserve'}{more}"

    # ------------------------------------------------------------------ as data
    def to_dict(self) -> dict[str, Any]:
        """The report as JSON takes it: plain SI numbers beside their units (`record.TABLE`)."""
        return record.told(record.TABLE, self)

    def frame(self) -> pd.DataFrame:
        """The limits as a table of numbers, weakest first; the key of each is its index."""
        import pandas as pd

        made = pd.DataFrame(self.to_dict()["limits"]).set_index("key")
        numbers = ["demand", "capacity", "margin", "band_low", "band_high"]
        return made.astype(dict.fromkeys(numbers, float))

    def verdict(self, system: str = "metric") -> str:
        """The verdict in one or two sentences, with its numbers."""
        by = f"By the {AVERAGE}, without the deck map, which counts: " if self.by_what else ""
        words = f"{by}{self.outcome}"
        return f"{words[0].upper()}{words[1:]}{'.' if self.holds else ':'} {self.grounds(system)}"

    @property
    def exceeded(self) -> str:
        """How many limits are exceeded, and how many more are too close to call."""
        bad = sum(r.outcome is Outcome.FAILS for r in self.banded)
        more = f", {len(self.close)} more too close to call" if self.close else ""
        return f"{bad} of {len(self.limits)} limits {'is' if bad == 1 else 'are'} exceeded{more}"

    def in_short(self, system: str = "metric") -> str:
        """What the owner is told: the pressure it is made for and what gives first."""
        g, first = self.gas, self.first_failure
        made = f"Has to hold {record.shown(self, 'pressure.design_peak', system)} in the cylinder"
        if self.outcome is Outcome.FAILS:
            made = f"{self.exceeded}. {made}"
        if first is None:
            gives = "nothing gives up to three times that"
        else:
            what = f"{'perhaps ' * self.unsure(first)}{first.limit.consequence.text(system)}"
            at = first.pressure + g.ambient
            far = at / g.design_peak - 1.0
            away = f"{100 * abs(far):.0f} % {'more' if far >= 0 else 'less'}"
            gives = f"at {show(at, 'pressure', system)} ({away}) {what}"
            if first.pressure <= 0.0:
                state = first.limit.state.name
                gives = f"{what}, already {BEFORE}{f' ({state})' if state else ''}"
        too = "; ".join(r.title.text(system) for r in self.close if r is not self.decides)
        return f"{made}; {gives}.{f' Too close to call too: {too}.' if too else ''}"

    def grounds(self, system: str = "metric") -> str:
        """What the verdict rests on: the limit that decides, and what fails first."""
        w, g, close = self.decides, self.gas, self.close
        words, (needs, has) = band_words(w.band), record.needs_has(w, system)
        line = (
            f"What decides: {w.title.text(system)}; needs {needs}, has {has}, "
            f"margin {percent(w.margin)}"
            f"{f', {words} with other choices of the model' if words else ''} ({w.state})."
        )
        if self.outcome is Outcome.FAILS:
            line = f"{self.exceeded}. {line}"
        elif close:
            turns = "holds or fails" if len(close) == 1 else "hold or fail"
            named = "; ".join(f"{r.title.text(system)}, {turned_words(r)}" for r in close)
            line = (
                f"{len(close)} of {len(self.limits)} limits {turns} "
                f"with what nobody has measured{self.well_enough} here: {named}. {line}"
            )
        elif self.leaves_knock_out:
            every = len(self.limits)
            line = (
                f"{every} of {every} limits hold, but knock is expected ({self.knock_integral}) "
                f"and the sheet adds less than it may. {line}"
            )
        first = self.first_failure
        if first is None:
            return f"{line} Nothing fails up to three times this pressure."
        what, perhaps = first.limit.consequence.text(system), "perhaps " * self.unsure(first)
        if first.pressure <= 0.0:
            more = sum(f.pressure <= 0.0 for f in self.order) - 1
            tied = f" (and {more} more; their order says nothing)" if more else ""
            when = f"{perhaps}exceeded already {BEFORE}", first.limit.state.name
            return f"{line} {', '.join(filter(None, when)).capitalize()}: {what}{tied}."
        at = show(first.pressure + g.ambient, "pressure", system)
        own = next((f.pressure for f in self.order if f.limit.key == w.key), 0.0)
        later = ""
        if self.holds and own > first.pressure:
            gives = "not up to three times this pressure"
            if np.isfinite(own):
                gives = f"only at {show(own + g.ambient, 'pressure', system)}"
            later = f"; what decides has less left, loses it more slowly and gives {gives}"
        return f"{line} As peak pressure rises, this {perhaps}fails first, at {at}: {what}{later}."

    def _repr_html_(self) -> str:
        return (
            f"<p><b>{html.escape(self.build.sheet.name)}</b>: {self.outcome}</p>"
            f"<p>{html.escape(self.verdict(self.build.system))}</p>"
        )


def run(
    build: Build,
    gas: Gas | None = None,
    deck: bool = False,
    told: Callable[[str], object] | None = None,
) -> Report:
    """The whole chain on one build.

    Raises InputError naming what cannot be worked out, such as a gas outside the tables.

    Parameters
    ----------
    gas : its gas side, where it is worked out already (as when only the gasket changes)
    deck : whether the map of the deck is worked out too, from the section [deck] of the sheet; it
        takes about a second
    told : called with what the map is at, in words
    """
    gas = gas_side(build) if gas is None else gas
    peak = gas.design_gauge
    case, warm = judged(build, peak)
    clamp, made = case.clamp, case.joint
    every = margins.limits(case, peak)
    rows = margins.worse(every)
    sealing = tuple(r for r in rows if r.check in ("residual", "springback", "lift-off"))
    when = margins.weakest(sealing).state
    temperature = when.temperature or Temperature.COLD
    _, worst = case.least(temperature) or ("", case.low)
    if when.state == margins.FIRST_START:
        worst = case.first
    side = None
    if deck:
        side = deck_side.judge_deck(build, clamp, made, case, warm, peak, told)
        rows = margins.worse(side.counting(every))
    return Report(
        build=build,
        gas=gas,
        clamp=clamp,
        joint=made,
        case=case,
        nominal=clamp.nominal,
        warm=warm,
        sealing=worst,
        temperature=temperature,
        limits=rows,
        deck=side,
    )


@functools.lru_cache(maxsize=32)
def kept_report(build: Build) -> Report:
    """The report on a build, kept: for what is asked again and again, such as at crank angles."""
    return run(build)
