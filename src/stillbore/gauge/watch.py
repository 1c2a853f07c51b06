"""A gauge watched as it goes: what is said at each reading, and no later.

Alarms come first and do not wait for the reading of the trace: pressure above the maximum at once, a rise from nought
within a second. Everything else follows from the likeliest phase now (trace.Path): a hold and a let-by watch are judged
reading by reading, the break-through when the gauge has settled. The cost of a reading is constant.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, replace
from math import sqrt

from stillbore.gauge.breakthrough import RISEN, SETTLING, judge_break_through
from stillbore.gauge.hold import Hold, HoldSettings
from stillbore.gauge.letby import LetBy, LetBySettings, Slope, falling_leg, judge_so_far
from stillbore.gauge.trace import BLOCK, NOTES, Path, level_spikes
from stillbore.gauge.trace_model import NAMES, PHASES, Block, roughness_scale
from stillbore.gauge.trace_report import TOO_MUCH, TraceSettings
from stillbore.verdicts import NOT_PROVEN

ALARM, VERDICT, PHASE, HINT = "alarm", "verdict", "phase", "hint"
RISE = 600.0  # Pa above nought, or five times its unrest: the gauge has come up
LONE_RISE = 1000.0  # Pa, where readings are so far apart that one has to do
FAR_APART = 0.6  # s
BASE_SHARE = 0.02  # a second, of what is read in the running mean at nought
HIGHEST_RISE = 1500.0  # Pa, however restless the gauge is: a slow rise is unrest too
SURE = 2.0  # s that a phase lasts before it is spoken of
LEG_WATCHED = 15.0  # s before a fall of the isolated leg is spoken of
REMEMBERED = 400  # bends from which the unrest of the calm gauge is taken
WORKED_ON = "drill or stopper"  # at the pressure of the district; only what follows tells them apart
AT_NOUGHT = ("watch", "zero", "rest", "vent")  # phases that a let-by watch may be taken for
UNSEEN_SHUT = "Say when the vent is shut ('vent shut'): with a tight stopper nothing shows it."
HELD = 4.0  # s by which the judges come after: what a hand begins is seen as such by then, and is no leak
CAME_UP = 20  # blocks in which the gauge saw the district: what rises after them is no break-through any more
BEHIND_IT = ("live", "saw", "stopper", "vent", "shut in")  # phases that come only after the break-through
STANDS_AT_NOUGHT = 2  # readings; one is a glitch
RECENT = 90.0  # s after drilling in which a rise is a break-through
LONE_HIGH = "That was one reading alone: the next is below. Look at the gauge itself before anything else is done."
LONE_UP = "That was one reading alone, and the next is at nought again: no break-through yet."


@dataclass(frozen=True)
class Said:
    """Something said at a reading: log time [s], kind (alarm, verdict, phase, hint) and the sentence."""

    time: float
    kind: str
    words: str


class Watch:
    """A gauge being watched. ``take`` a reading; what is to be said now comes back."""

    def __init__(self, settings: TraceSettings) -> None:
        self.settings = settings
        self.path = Path()
        self.rough = roughness_scale([])
        self._bends: deque[float] = deque(maxlen=REMEMBERED)
        self._last: list[tuple[float, float]] = []  # the readings before this one, at most two
        self._gathered: list[tuple[float, float]] = []  # the last two that went into a block
        self._block: list[tuple[float, float]] = []
        self._block_bends = 0.0
        self._middle = self._mean = 0.0
        self._count = 0
        self._base, self._unrest = 0.0, 0.0
        self._above = 0
        self._risen = self._too_high = self._open = False
        self._lone: bool | None = None  # a break-through was said on one reading: whether the pipe was open before it
        self._high_for = 0
        self._drilled = self._nought_drilled = -1e9
        self._below = 0  # readings at nought, one after another
        self._phase, self._phase_since, self._spoken = "", 0.0, ""
        self._held: deque[tuple[float, float, float | None, float | None]] = deque()  # readings not yet judged
        self._hold: Hold | None = None
        self._hold_began = 0.0
        self._rise: list[tuple[float, float]] = []
        self._let_by: tuple[LetBy, LetBySettings] | None = None
        self._leg: Slope | None = None
        self._leg_fell = self._leg_stood = False
        self._live: tuple[float, int] = (0.0, 0)  # sum and count of the pressure while the gauge sees the district

    def take(self, time: float, pressure: float, temperature: float | None = None,
             barometer: float | None = None) -> list[Said]:
        """Take a reading [s, Pa gauge, K, Pa abs] after the one before; returns what is to be said."""
        said = self._alarms(time, pressure)
        glitch = self._passed_over(time, pressure)
        if not any(one.words in (LONE_HIGH, LONE_UP) for one in said):
            said += glitch
        if self._last and self._gather(*self._last[-1]):
            said += self._follow(time)
        said += self._judge(time, pressure, temperature, barometer)
        self._last = [*self._last[-1:], (time, pressure)]
        return said

    def _passed_over(self, time: float, pressure: float) -> list[Said]:
        """What the reading before was taken for, now that there is one behind it: a single one far off both is a
        glitch, on which neither phase nor verdict rests."""
        if len(self._last) < 2:
            return []
        (_, before), (at, here) = self._last
        three = [before, here, pressure]
        level_spikes(three, self.rough)
        if three[1] == here:
            return []
        self._last[1] = (at, three[1])
        if self._held and self._held[-1][0] == at:
            self._held.pop()
        self._rise = [(when, three[1] if when == at else what) for when, what in self._rise]
        return [Said(time, HINT, f"One reading alone, {here / 100:.1f} mbar: passed over.")]

    def note(self, time: float, words: str) -> list[Said]:
        """Take a word of the crew. 'vent shut' begins the watch for let-by."""
        label = NOTES.get(words.strip().lower())
        if label != "watch":
            said = Said(time, HINT, f"'{words.strip()}' is noted. 'vent shut' begins the let-by watch.")
            return [] if label else [said]
        settings = self.settings.let_by
        if settings is None:
            return [Said(time, HINT, "The let-by watch is not judged: give the volume of the leg and the limit.")]
        if settings.district <= 0.0:
            if not self._live[1]:
                return [Said(time, HINT, "The pressure behind the stopper is not known: read it and give it.")]
            district = self._live[0] / self._live[1]
            settings = replace(settings, district=district, highest=max(settings.highest, district))
        # A small leg that a neighbour empties in seconds looks like one that was vented: it has to be seen standing.
        settings = replace(settings, leg_falls=self._leg_fell or not self._leg_stood)
        self._let_by = (LetBy(settings), settings)
        self._held.clear()
        return [Said(time, PHASE, "Watch for let-by begins.")]

    def end(self, time: float) -> list[Said]:
        """The readings have ended: what is still open is not proven."""
        said = []
        if self._hold is not None and self._hold.decided_at is None:
            said.append(Said(time, VERDICT, f"Hold: {NOT_PROVEN} when the readings ended."))
        if self._let_by is not None:
            said.append(self._let_by_verdict(time))
        if self._rise:
            said += self._break_through(time, True)
        return said

    # Alarms: no model, no delay.

    def _alarms(self, time: float, pressure: float) -> list[Said]:
        expected = self.settings.expected
        test = self.settings.hold.test_pressure if self.settings.hold else HoldSettings.test_pressure
        limits = [TOO_MUCH * test]
        # Above the maximum is what the test itself is; only with the pipe drilled is it gas.
        if expected.maximum is not None and (self._open or time - self._drilled <= RECENT):
            limits.append(expected.maximum)
        if expected.range_end is not None:
            limits.append(0.98 * expected.range_end)
        said = []
        high = pressure > min(limits)
        if high and not self._too_high:
            said.append(Said(time, ALARM, f"PRESSURE ABOVE MAXIMUM: {pressure / 100:.0f} mbar. Medium pressure is "
                             "reckoned with. Leave everything as it is, clear the pit, call."))
        elif self._high_for == 1 and not high:
            said.append(Said(time, HINT, LONE_HIGH))
        self._too_high, self._high_for = high, self._high_for + 1 if high else 0
        return [*said, *self._taken_back(time, pressure), *self._rising(time, pressure)]

    def _taken_back(self, time: float, pressure: float) -> list[Said]:
        """Where readings are far apart, one has to do for a break-through. A glitch is one reading too: the next shows
        it, and what it began is taken back, so that the break-through itself is not missed afterwards."""
        before, self._lone = self._lone, None
        if before is None or pressure - self._base > RISE:
            return []
        self._risen, self._open, self._rise = False, before, []
        return [Said(time, HINT, LONE_UP)]

    def _rising(self, time: float, pressure: float) -> list[Said]:
        """The gauge comes up from nought: two readings above the threshold, or one where they are far apart."""
        beyond = pressure - self._base
        threshold = min(max(RISE, 5.0 * sqrt(self._unrest)), HIGHEST_RISE)
        self._below = self._below + 1 if pressure < RISE else 0
        slow = bool(self._last) and time - self._last[-1][0] >= FAR_APART
        self._above = self._above + 1 if beyond > threshold else 0
        if not self._last:
            self._base, self._above = min(pressure, RISE), 0
            self._risen = pressure > RISE  # the watch began with a gauge that was up already
        elif beyond <= threshold:
            share = BASE_SHARE * min(time - self._last[-1][0], 1.0) if self._last else 0.0
            self._base = min(self._base + share * beyond, RISE)
            # A single large one does not make the threshold blind.
            self._unrest += share * (min(beyond * beyond, 9.0 * self._unrest + 2500.0) - self._unrest)
            if self._risen and self._below >= STANDS_AT_NOUGHT:
                self._risen = False
        if self._risen or not (self._above >= 2 or self._above and slow and beyond > max(LONE_RISE, 1.6 * threshold)):
            return []
        self._risen = True
        if time - self._nought_drilled <= RECENT and not (self._open and self._live[1] >= CAME_UP):
            self._lone = self._open if self._above == 1 else None
            self._open = True
            self._rise = [*self._last, (time, pressure)]
            return [Said(time, ALARM, f"BREAK-THROUGH: the gauge is at {pressure / 100:.1f} mbar.")]
        return [Said(time, PHASE, f"The gauge rises from nought: {pressure / 100:.1f} mbar.")]

    # The likeliest phase.

    def _gather(self, time: float, pressure: float) -> bool:
        """Put a reading into its block; True where a block was completed and taken."""
        if len(self._gathered) == 2:
            (_, first), (_, middle) = self._gathered
            bend = middle - 0.5 * (first + pressure)
            self._block_bends += bend * bend
            self._bends.append(bend)
        self._gathered = [*self._gathered[-1:], (time, pressure)]
        self._count += 1
        if self._count % 50 == 0:
            self.rough = roughness_scale(self._bends)
        full = bool(self._block) and time >= self._block[0][0] + BLOCK - 1e-6
        if full:
            self._close_block()
        self._block.append((time, pressure))
        return full

    def _close_block(self) -> None:
        number = len(self._block)
        mean = sum(pressure for _, pressure in self._block) / number
        middle = 0.5 * (self._block[0][0] + self._block[-1][0])
        step = max(middle - self._middle, 0.05) if self.path.scores else 0.05
        slope = (mean - self._mean) / step if self.path.scores else 0.0
        self.path.take(Block(0, number, mean, slope, step, self._block_bends / 1.5, ""), self.rough)
        self._middle, self._mean = middle, mean
        self._block, self._block_bends = [], 0.0

    def _follow(self, time: float) -> list[Said]:
        """Speak of a phase that has lasted, and begin its judge."""
        name = NAMES[self.path.now]
        if name == "pause":  # whether anybody will pump again is not known yet
            name = "hold"
        if name == "pump" and self._rise:
            name = "break"
        if name in ("live", "saw"):
            self._live = (self._live[0] + self._mean, self._live[1] + 1)
        if name != self._phase:
            emptied = self._phase in ("release", "rest", "zero")  # nobody holds what was not pumped up
            self._phase, self._phase_since = name, time
            if name not in AT_NOUGHT:
                self._held.clear()
            if name == "hold" and not emptied and (self._hold is None or self._hold.decided_at is None):
                self._begin_hold(time)
            elif name in ("pump", "break", "release"):
                self._hold = None
            if name == "shut in":
                self._leg, self._leg_fell = Slope(), False
            else:
                self._leg = None
        lasted = time - self._phase_since
        if name in ("drill", "saw") and lasted >= SURE:
            self._drilled = time
        if name == "drill" and lasted >= SURE:  # at nought: what was taken for a break-through before was none
            self._open, self._live, self._nought_drilled = False, (0.0, 0), time
        if name in BEHIND_IT and lasted >= SURE:
            self._nought_drilled = -1e9
        label = WORKED_ON if name in ("saw", "stopper") else PHASES[name].label
        if lasted < SURE or label == self._spoken:
            return []
        self._spoken = label
        said = [Said(time, PHASE, f"{label}.")]
        if name == "vent":
            said.append(Said(time, HINT, UNSEEN_SHUT))
        return said

    # The judges.

    def _begin_hold(self, time: float) -> None:
        if self.settings.hold is not None:
            self._hold, self._hold_began = Hold(self.settings.hold), time

    def _judge(self, time: float, pressure: float, temperature: float | None,
               barometer: float | None) -> list[Said]:
        """Give the judges every reading some seconds after it came, if its phase still lasts then."""
        self._held.append((time, pressure, temperature, barometer))
        said = []
        while self._held and self._held[0][0] <= time - HELD:
            said += self._judge_held(time, *self._held.popleft())
        if self._let_by is not None and self._phase not in AT_NOUGHT and self._let_by[0].count > 5:
            said.append(self._let_by_verdict(time))
        if self._rise:
            self._rise.append((time, pressure))
            said += self._break_through(time, False)
        return said

    def _judge_held(self, now: float, time: float, pressure: float, temperature: float | None,
                    barometer: float | None) -> list[Said]:
        said = []
        hold = self._hold
        if hold is not None and hold.decided_at is None and self._phase == "hold":
            since = time - self._hold_began
            hold.add(since, pressure, temperature, barometer)
            if hold.decided_at is not None:
                said.append(Said(now, VERDICT, f"Hold: {hold.verdict}, {since:.0f} s after pumping."))
                said += [Said(now, HINT, finding) for finding in hold.findings]
            elif since > hold.settings.longest:
                said.append(Said(now, VERDICT, f"Hold: {NOT_PROVEN} after {since:.0f} s."))
                self._hold = None
        if self._let_by is not None:
            self._let_by[0].add(time, pressure)
        if self._leg is not None:
            self._leg.add(time, pressure)
            watched = time - self._phase_since > LEG_WATCHED
            falls = falling_leg(self._leg.value) if watched else ""
            self._leg_stood = self._leg_stood or watched
            if falls:
                said.append(Said(now, ALARM, falls))
                self._leg, self._leg_fell = None, True
        return said

    def _let_by_verdict(self, time: float) -> Said:
        judge, settings = self._let_by  # type: ignore[misc]
        self._let_by = None
        report = judge_so_far(judge, settings)
        upper = "" if report.upper is None else f", at most {report.upper * 3.6e6:.2g} l/h"
        return Said(time, VERDICT, " ".join((f"Let-by: {report.verdict}{upper}.", *report.findings)))

    def _break_through(self, time: float, ended: bool) -> list[Said]:
        """Judge the rise once the gauge has settled, or has had its time."""
        times = [at for at, _ in self._rise]
        pressures = [pressure for _, pressure in self._rise]
        expected = self.settings.expected
        top = max(pressures)
        risen = next(at for at, pressure in self._rise if pressure >= RISEN * top)
        touched = self._phase in ("saw", "stopper", "vent")
        if not (ended or touched or time - risen > SETTLING + 10.0 or time - times[0] > expected.within + 15.0):
            return []
        self._rise = []
        clipped = expected.range_end is not None and top >= 0.98 * expected.range_end
        found = judge_break_through(times, pressures, clipped, expected)
        settled = "" if found.settled is None else f", {found.settled / 100:.1f} mbar"
        return [Said(time, VERDICT, " ".join((f"Break-through: {found.verdict}, {found.kind}{settled}.",
                                              *found.findings)))]

