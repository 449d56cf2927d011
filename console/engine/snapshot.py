"""The one answer of the engine: everything that board, commands and reports show, frozen.

Times are seconds since the scenario's epoch, amounts in the supply's SI unit. What cannot be known is None
with the reason in ``why``: never 0, never NaN, never a guess.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import Enum

from console.craft.cabin import CabinLimit
from console.craft.model import BusSharing, LoadState, StoreState
from console.engine.learnt import UnloggedChange, UseFactor
from console.engine.reading import CabinReading, FeedState, Quality
from console.engine.validity.verdict import Verdict
from console.units import Unit, UnitSystem


class Band(Enum):
    """How bad a margin is, worst last. 14 CFR 25.1322: warning = act now, caution = act later."""

    NOMINAL = "nominal"
    ADVISORY = "advisory"
    CAUTION = "caution"
    WARNING = "warning"


class RateSource(Enum):
    """Where a rate comes from."""

    MEASURED = "measured"
    MODEL = "model"


@dataclass(frozen=True, kw_only=True, slots=True)
class Interval:
    """A value with the low and high end of its 90 % interval. None: no upper end, or it never comes."""

    p05: float | None
    p50: float | None
    p95: float | None


class LineKind(Enum):
    """What a line of the ledger is."""

    ON_BOARD = "on board"
    PROTECTED = "protected"
    ISOLATED = "isolated"
    RESIDUAL = "residual"
    RESERVE = "reserve"
    USE = "use"
    LOAD = "load"
    EVENT = "event"
    TRANSFER = "transfer"
    OPENED = "opened"
    SHUT = "shut"
    CARRIED = "used since the readings"
    LEFT = "left at need"


@dataclass(frozen=True, kw_only=True, slots=True)
class LedgerLine:
    """One line of the way from on board to what is left at need."""

    kind: LineKind
    name: str
    amount_si: float
    """Signed: what is taken is negative. On board plus all lines between equals what is left."""
    store: str = ""
    """The store that is opened or shut; empty for all else."""


@dataclass(frozen=True, kw_only=True, slots=True)
class StoreStatus:
    """One store as it is known now."""

    name: str
    state: StoreState
    on_board_si: float | None
    """As at its reading, however old."""
    residual_si: float | None
    basis: str
    """How the quantity is known: ``quantity``, ``pressure``, ``used``, ``capacity`` or ``none``."""
    quality: Quality
    age_s: float | None
    """Age of the oldest reading behind it; None where no reading is."""
    why: str
    bus: BusShare | None = None
    """Of a battery that feeds: its part of the bus."""
    note: str = ""
    """What it is for, as the config says."""


@dataclass(frozen=True, kw_only=True, slots=True)
class BusShare:
    """One battery's part of what its bus gives."""

    fraction: float
    by: BusSharing
    """Whether its own meter says so, or its capacity."""
    planned_a: float
    """Its share of the draw that the model reckons for now, A."""
    limit_a: float | None
    reaches_residual_in_s: float | None
    """At that share of the present configuration's draw; None where it does not."""


@dataclass(frozen=True, kw_only=True, slots=True)
class UseRate:
    """One use at the rate of the present configuration."""

    kind: LineKind
    name: str
    rate_si_per_s: float
    people: int | None
    """How many people's use it is; None for what does not go by people."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Peak:
    """The current of one phase or event on one bus against what the bus and its batteries may give."""

    supply: str
    name: str
    """Of the phase or event."""
    at_s: float
    mean_a: float
    """With loads that cycle at their duty."""
    peak_a: float
    """With every load that cycles on at once."""
    bus_limit_a: float | None
    store: str | None
    """The battery nearest to its own limit, or furthest beyond it; None where none has a limit."""
    store_peak_a: float | None
    store_limit_a: float | None
    is_over: bool
    """Whether the peak is above the limit of the bus or of a battery."""
    why: str = ""
    """What a person must be told beside it."""


class Supposition(Enum):
    """On which supposition a cabin clock runs."""

    PLAN = "under the plan"
    TREND = "at the measured trend"
    NO_REMOVAL = "if CO2 removal stopped now"
    NO_FEED = "if the oxygen feed stopped now"
    NO_COOLING = "if cooling stopped now"
    NO_POWER = "if all loads stopped now"


class ClockState(Enum):
    """What a cabin clock says."""

    RUNNING = "running"
    """The limit is ahead."""
    REACHED = "reached"
    """The property is beyond its limit now."""
    HELD = "not reached"
    """The limit does not come: not before need, and not within the horizon of the clock."""
    UNKNOWN = "not known"


@dataclass(frozen=True, kw_only=True, slots=True)
class CabinClock:
    """When one named limit of the cabin is reached on one supposition."""

    limit: CabinLimit
    supposition: Supposition
    state: ClockState
    now_si: float | None
    """The property now, in the limit's own kind (a share where the limit is one)."""
    reached_in_s: Interval | None
    """From now; an end of None is one that does not come. The whole is None where it is not known."""
    margin_s: Interval | None
    """Against need; for the plan and the trend only."""
    band: Band | None
    """For the plan and the trend only, by the margin's low end."""
    quality: Quality
    """Of the readings behind it: the worst."""
    why: str
    """What it rests on, and what a person must be told beside it."""

    @property
    def key(self) -> str:
        """What names it among the clocks of a Snapshot."""
        return f"{self.limit.name}, {self.supposition.value}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Drop:
    """What leaving a module behind does for the delta-v."""

    module: str
    mass_kg: float
    is_dropped: bool
    delta_v_left_m_per_s: float | None
    """Of the craft without it, from the propellant that it would then have; None where not known."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SupplyStatus:
    """One supply: what is there, how long it lasts, by how much that makes it."""

    name: str
    unit: Unit
    rate_unit: Unit
    on_board_si: float | None
    """Now: where readings are old, less what the plan has taken since."""
    protected_si: float | None
    isolated_si: float | None
    """Aboard behind a shut valve: not counted in ``usable_si`` until it is opened."""
    residual_si: float | None
    """Of the feeding stores."""
    reserve_si: float
    usable_si: float | None
    quality: Quality
    age_s: float | None
    """Age of the oldest reading behind what feeds or is opened before need; None where there is none."""
    rate_now_si_per_s: float | None
    rate_now_source: RateSource | None
    rate_plan_si_per_s: float | None
    """What the model says for the configuration commanded now."""
    endurance_now_s: Interval | None
    endurance_plan_s: Interval | None
    runs_out_at_s: float | None
    """Under the plan, central case; None where it does not run out or is not known."""
    margin_s: Interval | None
    left_at_need_si: Interval | None
    allowance_si_per_s: float | None
    lasts_probability: float | None
    band: Band | None
    """None where the margin is not known."""
    why: str
    """Sentences a person reads beside the figures: why a figure is missing, stale, or surprising."""
    stores: tuple[StoreStatus, ...]
    ledger: tuple[LedgerLine, ...]
    """Empty where the quantity is not known."""
    rates: tuple[UseRate, ...] = ()
    """What the model reckons for the present configuration, use by use, the largest first."""
    fitted_lasts_s: Interval | None = None
    """Absorbent: how long the fitted cartridges last; None where not known or where none is spare."""
    reserve_note: str = ""
    """What the reserve is kept for."""
    released_si: float = 0.0
    """What logged decisions have released of the reserve; ``reserve_si`` is what is left of it."""
    factors: tuple[UseFactor, ...] = ()
    """Measured over modelled use by group, as far as readings tell; the plan's figures count them."""
    unlogged: tuple[UnloggedChange, ...] = ()
    """Changes of its use that no entry explains; the plan's figures count them."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Need:
    """Until when every supply must last, and the option that sets it."""

    option: str
    at_s: float
    in_s: float
    arrival_s: float
    recovery_s: float
    hold_s: float
    decide_by_s: float | None
    delta_v_m_per_s: float | None
    delta_v_left_m_per_s: float | None
    """What the usable propellant still gives; None where the craft has no propulsion or it is not known."""
    note: str
    decided_at_s: float | None = None
    """When a logged entry committed to this option; None where it is the plan's alone."""
    decided_by: str = ""
    """Who logged that."""


@dataclass(frozen=True, kw_only=True, slots=True)
class LoadStatus:
    """One load as it is commanded now."""

    name: str
    title: str
    supply: str
    state: LoadState
    draw_si_per_s: float
    priority: int
    by_step: bool
    """Whether a logged step put it there; else the plan's level did."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Coming:
    """Something of the plan that lies ahead."""

    name: str
    at_s: float
    in_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Snapshot:
    """Everything at one moment."""

    scenario: str
    """The scenario's slug."""
    craft_name: str
    epoch: datetime
    at_s: float
    feed: FeedState
    need: Need
    shortest: str | None
    """Name of the supply with the least margin (low end); None where no margin is known."""
    supplies: Mapping[str, SupplyStatus]
    unknown: tuple[str, ...]
    """Supplies whose margin is not known, which could be shorter than ``shortest``."""
    phase: str
    level: str
    """The plan's level in this phase."""
    level_differs: int
    """How many loads logged steps hold in another state than that level's."""
    loads: tuple[LoadStatus, ...]
    next_phase: Coming | None
    next_event: Coming | None
    watch: str | None
    """Who has the board by the plan."""
    cabin: tuple[CabinReading, ...]
    clocks: tuple[CabinClock, ...] = ()
    """In the order of the craft's limits, and for each in that of ``Supposition``."""
    peaks: tuple[Peak, ...] = ()
    """For every electrical supply, phase in progress and ahead and event ahead, in order of time."""
    drops: tuple[Drop, ...] = ()
    shown_in: UnitSystem = UnitSystem.AS_WRITTEN
    notices: tuple[str, ...] = ()
    """What is amiss with neither feed nor supply, such as a logged step on a load the craft lacks."""
    doubts: tuple[Verdict, ...] = ()
    """What the history of the channels says against their newest words, the gravest first."""
