"""The cabin's courses once more, as its clocks went by them: the same calls with the same arguments."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.craft.cabin import CabinLimit, CabinProperty
from console.craft.plan import Phase, phase_at
from console.engine.cabin.clocks import CABIN_SAMPLES
from console.engine.cabin.course import CARBON_DIOXIDE, TEMPERATURE, Course, Readings
from console.engine.cabin.crossing import reached_at_s
from console.engine.cabin.forcing import cabin_course
from console.engine.cabin.gauges import CabinGauges, Gauge, cabin_gauges
from console.engine.cabin.matters import suppositions_of
from console.engine.cabin.properties import excess, value_of
from console.engine.cabin.sampled import readings_of
from console.engine.cabin.services import services_of
from console.engine.cabin.surroundings import CabinSurroundings, cabin_from_s
from console.engine.draws import Floats
from console.engine.explain.book import Book
from console.engine.explain.grounds import Grounds
from console.engine.snapshot import CabinClock, Supposition

QUANTITIES = {CabinProperty.CARBON_DIOXIDE: CARBON_DIOXIDE, CabinProperty.TEMPERATURE: TEMPERATURE}
"""What has a closed form of its own, where it is not limited as a share."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Way:
    """One course of the cabin: from its readings' own moments, or as if they were of now."""

    around: CabinSurroundings
    gauges: CabinGauges
    readings: Readings
    course: Course
    suppositions: tuple[Supposition, ...]

    def times_s(self, limit: CabinLimit, supposition: Supposition) -> Floats:
        """When a limit is reached, in every sample."""
        index = (self.suppositions.index(supposition),)
        found: Floats = reached_at_s(self.course, limit, index, self.around.at_s)[0]
        return found


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Run:
    """One clock in one sample: the course that reaches its limit first."""

    book: Book
    clock: CabinClock
    way: Way
    row: int
    at_s: float
    """When the limit is reached; infinite where it is not."""

    @property
    def supposition(self) -> int:
        """Where the supposition stands in the course."""
        return self.way.suppositions.index(self.clock.supposition)

    @property
    def place(self) -> tuple[int, int]:
        """The last two indices of the course's arrays."""
        return self.supposition, self.row

    def start_s(self, piece: int) -> float:
        """When a piece begins."""
        return float(self.way.course.forcing.pieces.starts_s[piece, self.row])

    def span_s(self, piece: int) -> float:
        """How long it lasts."""
        return float(self.way.course.forcing.pieces.spans_s[piece, self.row])

    def phase(self, piece: int) -> Phase:
        """The phase in which it lies."""
        segment = self.way.around.segments[int(self.way.course.forcing.pieces.segments[piece, self.row])]
        return phase_at(self.book.grounds.ahead.phases, segment.start_s)

    def of_quantity(self, arrays: tuple[Floats, ...], piece: int) -> float:
        """A gain or a decay of the limited quantity."""
        shape = self.way.course.cools_to_k.shape
        return float(np.broadcast_to(arrays[QUANTITIES[self.clock.limit.of]], shape)[(piece, *self.place)])

    def level(self, piece: int) -> float:
        """The limited quantity at the beginning of a piece."""
        return float(self.way.course.starts[QUANTITIES[self.clock.limit.of]][(piece, *self.place)])

    def first_piece(self) -> tuple[int, bool]:
        """The piece in which the limit is passed, and whether it is passed as it begins."""
        course, limit = self.way.course, self.clock.limit
        pieces = course.forcing.pieces
        begins = excess(limit, course.begins)[:, self.supposition, self.row] > 0.0
        passes = begins | (excess(limit, course.ends)[:, self.supposition, self.row] > 0.0)
        passes &= pieces.starts_s[:, self.row] >= self.book.grounds.at_s
        passes &= (pieces.spans_s[:, self.row] > 0.0) | begins
        piece = int(np.argmax(passes))
        return piece, bool(begins[piece])

    def property_at(self, at_s: float) -> float:
        """The limited property at a moment, in the limit's own kind."""
        starts_s = self.way.course.forcing.pieces.starts_s[:, self.row]
        piece = max(int(np.searchsorted(starts_s, at_s, side="left")) - 1, 0)
        here, supposition, row = (np.array([index]) for index in (piece, *self.place))
        into_s = np.array([[at_s - self.start_s(piece)]])
        air = self.way.course.within(here, supposition, row, into_s)
        return float(value_of(self.clock.limit, air).item())


def run_of(book: Book, clock: CabinClock, row: int) -> Run | None:
    """One clock in one sample; None for a trend, which has no course, and beyond the cabin's samples."""
    ways = _ways(book)
    if not ways or row > min(book.grounds.draws.count, CABIN_SAMPLES):
        return None
    if clock.supposition not in ways[0].suppositions:
        return None
    times = [float(times_of(book, way, clock)[row]) for way in ways]
    at_s = min(times)
    return Run(book=book, clock=clock, way=ways[times.index(at_s)], row=row, at_s=at_s)


def clock_samples_s(book: Book, clock: CabinClock) -> Floats | None:
    """When a clock's limit is reached in every sample of the cabin; None for a trend."""
    ways = _ways(book)
    if not ways or clock.supposition not in ways[0].suppositions:
        return None
    found: Floats = np.minimum.reduce([times_of(book, way, clock) for way in ways])
    return found


def times_of(book: Book, way: Way, clock: CabinClock) -> Floats:
    """The times of one clock by one course, each made once."""
    key = f"times {clock.key} {id(way)}"
    if key not in book.kept:
        book.kept[key] = way.times_s(clock.limit, clock.supposition)
    found: Floats = book.kept[key]
    return found


def _ways(book: Book) -> tuple[Way, ...]:
    if "cabin ways" not in book.kept:
        book.kept["cabin ways"] = _made(book.grounds)
    found: tuple[Way, ...] = book.kept["cabin ways"]
    return found


def _made(grounds: Grounds) -> tuple[Way, ...]:
    cabin, draws = grounds.craft.cabin, grounds.draws
    if cabin is None or not cabin.limits:
        return ()
    from_s = cabin_from_s(grounds.craft, grounds.known.feed, grounds.at_s)
    around = CabinSurroundings(
        craft=grounds.craft,
        feed=grounds.known.feed,
        segments=grounds.ahead.configuration.segments(from_s, math.inf),
        option=grounds.ahead.option,
        at_s=grounds.at_s,
        ends_s={
            name: one.outlook.course.runs_out_s()
            for name, one in grounds.ahead.supplies.items()
            if one.outlook.course is not None
        },
    )
    gauges = cabin_gauges(grounds.craft, cabin, grounds.known.feed, grounds.at_s)
    running = services_of(grounds.craft, cabin, around.segments)
    asked = {
        one for limit in cabin.limits for one in suppositions_of(limit, running, bool(grounds.craft.loads))
    }
    suppositions = tuple(one for one in Supposition if one in asked)
    rows = min(draws.count, CABIN_SAMPLES) + 1
    as_read = [gauges] if gauges.from_s >= grounds.at_s else [gauges, gauges.as_if_now()]
    return tuple(
        Way(
            around=around,
            gauges=each,
            readings=readings_of(each, draws, rows),
            course=cabin_course(around, cabin, each, running, suppositions, draws, rows),
            suppositions=suppositions,
        )
        for each in as_read
    )


def gauge_of(way: Way, of: CabinProperty) -> Gauge | None:
    """What reads a quantity that has a closed form."""
    return way.gauges.carbon_dioxide if of is CabinProperty.CARBON_DIOXIDE else way.gauges.temperature
