"""What truly came of a contingency, lived once and kept on disk for the next time.

The cache goes by everything that a run depends on, the simulator's sources too: a change of any of them lives
it anew, a change of the engine does not.
"""

from __future__ import annotations

import gzip
import hashlib
import os
import pickle
from dataclasses import fields, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from calibration_regimes import Case

from console.feed.simulated_contingency import Contingency
from console.feed.simulated_recorded import Recorded

TOP = Path(__file__).parents[2]
SOURCES = (
    "console/feed/*.py",
    "console/physics/*.py",
    "console/craft/*.py",
    "console/engine/configuration.py",
)
KEPT = ("seed", "times_s", "stamps_s", "values_si", "truth", "ran_out_s", "horizon_s")
EVERY_S = 60.0


def recorded(case: Case, cache: Path | None) -> Recorded:
    """The contingency as it went, from the cache where it is there."""
    if cache is None:
        return _lived(case)
    place = cache / f"{case.name}-{_key(case)}.pickle.gz"
    if place.exists():
        # Written by ourselves, in a folder that the caller named for it.
        kept: dict[str, Any] = pickle.loads(gzip.decompress(place.read_bytes()))
        not_kept = {field.name: None for field in fields(Recorded) if field.name not in kept}
        return Recorded(**{**not_kept, **kept, "craft": case.scenario.craft})
    lived = _lived(case)
    kept = {name: getattr(lived, name) for name in KEPT}
    cache.mkdir(parents=True, exist_ok=True)
    beside = place.with_suffix(f".{os.getpid()}")
    beside.write_bytes(gzip.compress(pickle.dumps(kept), compresslevel=1))
    beside.replace(place)
    return lived


def without_wander(case: Case, cache: Path | None) -> Recorded:
    """The same contingency and draws, but loads and people keep to their means: what could be foreseen."""
    return recorded(replace(case, simulation=replace(case.simulation, wander_fraction=0.0)), cache)


def usable_at(truth: Recorded, supply: str, at_s: float) -> float:
    """What was truly usable at a moment."""
    return float(np.interp(at_s, truth.truth_times_s, truth.usable_si[supply]))


def falls_to_s(truth: Recorded, supply: str, level_si: float, from_s: float) -> float | None:
    """When what is usable first came down to a level after a moment; None if never before the horizon."""
    times_s, usable = truth.truth_times_s, truth.usable_si[supply]
    first = int(np.searchsorted(times_s, from_s, side="right"))
    below = np.flatnonzero(usable[first:] <= level_si)
    if not len(below):
        return None
    place = first + int(below[0])
    if place == 0 or usable[place - 1] <= level_si:
        return float(times_s[place])
    share = (usable[place - 1] - level_si) / (usable[place - 1] - usable[place])
    return float(times_s[place - 1] + share * (times_s[place] - times_s[place - 1]))


def moments_of(case: Case, truth: Recorded) -> list[tuple[float, float | None]]:
    """When forecasts are asked for, each with the share of the life that is left where that was asked."""
    if not case.lives_left:
        return [(moment_s, None) for moment_s in case.moments_s]
    begun_s, gone_s = case.change_s, truth.usable_gone_s.get(case.supplies[0])
    if begun_s is None or gone_s is None:
        return []
    moments_s = [(gone_s - left * (gone_s - begun_s), left) for left in case.lives_left]
    return [(60.0 * (moment_s // 60.0), left) for moment_s, left in moments_s if moment_s <= case.until_s]


def _lived(case: Case) -> Recorded:
    contingency = Contingency(
        case.scenario,
        case.simulation,
        case.faults,
        seed=case.seed,
        step_s=EVERY_S,
        has_operators=False,
        lends=True,
        is_faultless=True,
    )
    return contingency.run(case.until_s, EVERY_S)


def _key(case: Case) -> str:
    channels = {name: channel.resolution_si for name, channel in case.scenario.craft.channels.items()}
    said = repr(
        (
            case.seed,
            case.faults,
            case.until_s,
            channels,
            case.simulation,
            case.scenario.plan.events,
            EVERY_S,
            KEPT,
        )
    )
    digest = hashlib.sha256(said.encode())
    digest.update(sources_digest(SOURCES).encode())
    for name in ("craft.yaml", "plan.yaml"):
        digest.update((case.scenario.folder / name).read_bytes())
    return digest.hexdigest()[:20]


@lru_cache(maxsize=4)
def sources_digest(patterns: tuple[str, ...]) -> str:
    """A digest of source files, by patterns from the top of the tree."""
    digest = hashlib.sha256()
    for pattern in patterns:
        for path in sorted(TOP.glob(pattern)):
            digest.update(path.name.encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()
