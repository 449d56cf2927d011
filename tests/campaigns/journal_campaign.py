"""How the journal holds under kills, flips, cuts, failing disks and power cuts; prints its figures.

    python tests/campaigns/journal_campaign.py --rounds 500 --writers 4 --flips 1000 --cuts 200

Exit code 1 if any acknowledged entry was lost, any damage missed, or a control did not show what it must.
"""

from __future__ import annotations

import argparse
import json
import platform
import sqlite3
import sys
import tempfile
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from journal_damage import CutFigures, FlipFigures, cut_tails, flip_bits
from journal_disk import NoSharedLibraryError
from journal_faults import FaultFigures, PowerFigures, cut_power, fail_each_act
from journal_watch import WatchFigures, fail_a_watch
from journal_writers import KillFigures, kill_rounds


def main() -> int:
    """Run the campaign and print its figures."""
    arguments = _arguments()
    with tempfile.TemporaryDirectory(prefix="journal-campaign-") as place:
        figures, wrong = _run(arguments, Path(place))
    if arguments.json:
        print(json.dumps({"figures": figures, "wrong": wrong}, indent=1))
    else:
        for part, values in figures.items():
            print(f"{part}: " + ", ".join(f"{name} {value}" for name, value in values.items()))
        print("wrong: " + ("; ".join(wrong) or "nothing"))
    return 1 if wrong else 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--rounds", type=int, default=500, help="rounds of killing all writers")
    parser.add_argument("--writers", type=int, default=4, help="writers at once")
    parser.add_argument("--flips", type=int, default=1000, help="single bits to flip")
    parser.add_argument("--cuts", type=int, default=200, help="tails to cut off or rewrite")
    parser.add_argument("--power-cuts", type=int, default=1000, help="moments at which to cut the power")
    parser.add_argument("--watch-every", type=int, default=1, help="fail each so-many-th act of the watch")
    parser.add_argument("--seed", type=int, default=1, help="seed of all that is left to chance")
    parser.add_argument("--json", action="store_true", help="print JSON")
    return parser.parse_args()


def _run(arguments: argparse.Namespace, place: Path) -> tuple[dict[str, dict[str, Any]], list[str]]:
    """Every part in a folder of its own."""
    seed, cuts = arguments.seed, arguments.power_cuts
    parts: dict[str, tuple[Callable[[Path], Any], Callable[[Any], bool]]] = {
        "kills": (
            lambda folder: kill_rounds(folder, rounds=arguments.rounds, writers=arguments.writers, seed=seed),
            _kills_held,
        ),
        "flips": (lambda folder: flip_bits(folder, flips=arguments.flips, seed=seed), _flips_held),
        "cuts": (lambda folder: cut_tails(folder, cuts=arguments.cuts, seed=seed), _cuts_held),
        "failing disk": (fail_each_act, _faults_held),
        "watch on a failing disk": (
            lambda folder: fail_a_watch(folder, every=arguments.watch_every),
            _watches_held,
        ),
        "power": (lambda folder: cut_power(folder, cuts=cuts, seed=seed), _power_held),
        "power, control with FULL": (
            lambda folder: cut_power(folder, cuts=cuts, seed=seed, synchronous="FULL"),
            lambda figures: figures.lost > 0,
        ),
    }
    return _figures_of(parts, place)


def _figures_of(
    parts: dict[str, tuple[Callable[[Path], Any], Callable[[Any], bool]]], place: Path
) -> tuple[dict[str, dict[str, Any]], list[str]]:
    figures: dict[str, dict[str, Any]] = {
        "with": {"python": platform.python_version(), "sqlite": sqlite3.sqlite_version}
    }
    wrong = []
    for name, (run, holds) in parts.items():
        folder = place / name.replace(" ", "-")
        folder.mkdir()
        try:
            found = run(folder)
        except NoSharedLibraryError as error:
            figures[name] = {"not run": str(error)}
            continue
        figures[name] = asdict(found)
        if not holds(found):
            wrong.append(name)
    return figures, wrong


def _kills_held(figures: KillFigures) -> bool:
    return not (figures.lost or figures.doubled or figures.faults) and figures.acknowledged > 0


def _flips_held(figures: FlipFigures) -> bool:
    return (
        not (figures.missed or figures.rewritten)
        and figures.found >= figures.used > 0
        and figures.first_named == figures.entries_hit > 0
    )


def _cuts_held(figures: CutFigures) -> bool:
    return (
        figures.found_with_head == figures.cuts
        and figures.found_without_head == 0
        and figures.truncations_found == figures.truncations
    )


def _faults_held(figures: FaultFigures) -> bool:
    wrong = figures.lost or figures.doubled or figures.unusable or figures.faults
    return figures.failures > 0 and not wrong


def _watches_held(figures: WatchFigures) -> bool:
    wrong = (
        figures.told_too_early
        or figures.lost
        or figures.out_of_order
        or figures.changed
        or figures.still_kept
        or figures.faults
    )
    return figures.kept > 0 and figures.failures > 0 and not wrong


def _power_held(figures: PowerFigures) -> bool:
    return not (figures.lost or figures.unusable or figures.faulty)


if __name__ == "__main__":
    sys.exit(main())
