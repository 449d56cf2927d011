"""Random choices of loads against an integer program, ``--rounds 500`` of them.

The reference is scipy's milp, asked priority by priority for the fewest loads: it must give the same counts.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from console.engine.shed_choice import Candidate, least_important

MOST_LOADS = 60


def question(seed: int) -> tuple[list[Candidate], list[float]]:
    """Up to sixty loads of up to nine priorities on up to three supplies; a fifth of them need another."""
    luck = np.random.default_rng(seed)
    count, supplies = int(luck.integers(3, MOST_LOADS + 1)), int(luck.integers(1, 4))
    priorities, kind = int(luck.integers(1, 10)), int(luck.integers(0, 3))
    sizes = luck.uniform(0.1, 6.0, count)
    candidates = []
    for index in range(count):
        shares = {
            0: luck.uniform(0.2, 1.0, supplies),  # what saves one supply saves the others in part
            1: luck.uniform(0.0, 5.0, supplies) / sizes[index],  # nothing to do with each other
            2: luck.uniform(0.9, 1.1, supplies),  # nearly the same
        }[kind]
        needed = int(luck.integers(0, count))
        needs = (f"load-{needed}",) if luck.random() < 0.2 and needed != index else ()
        candidates.append(
            Candidate(
                name=f"load-{index}",
                priority=int(luck.integers(1, priorities + 1)),
                saves=tuple((sizes[index] * shares).tolist()),
                needs=needs,
            )
        )
    whole = np.array([candidate.saves for candidate in candidates]).sum(axis=0)
    return candidates, (whole * luck.uniform(0.05, 1.02, supplies)).tolist()


def fewest(candidates: Sequence[Candidate], lacking: Sequence[float]) -> tuple[int, ...] | None:
    """The fewest loads of each priority, most important first, by integer programming."""
    count = len(candidates)
    at = {candidate.name: index for index, candidate in enumerate(candidates)}
    rows = [[candidate.saves[column] for candidate in candidates] for column in range(len(lacking))]
    low, high = list(lacking), [np.inf] * len(lacking)
    for candidate in candidates:
        for needed in candidate.needs:
            row = [0.0] * count
            row[at[candidate.name]], row[at[needed]] = 1.0, -1.0
            rows.append(row)
            low.append(0.0)
            high.append(np.inf)
    counts = []
    for priority in sorted({candidate.priority for candidate in candidates}):
        members = [float(candidate.priority == priority) for candidate in candidates]
        result = milp(
            np.array(members),
            constraints=LinearConstraint(np.array(rows), low, high),
            integrality=np.ones(count),
            bounds=Bounds(0, 1),
        )
        if result.x is None:
            return None
        counts.append(round(result.fun))
        rows.append(members)
        low.append(-np.inf)
        high.append(counts[-1])
    return tuple(counts)


def fault_of(seed: int) -> str:
    """What is wrong with the answer to one question; empty where nothing is."""
    candidates, lacking = question(seed)
    chosen, best = least_important(candidates, lacking), fewest(candidates, lacking)
    if chosen is None or best is None:
        return "" if chosen is best else f"seed {seed}: found {chosen}, the program {best}"
    off = [candidate for candidate in candidates if candidate.name in chosen]
    saved = np.array([candidate.saves for candidate in off]).reshape(len(off), len(lacking)).sum(axis=0)
    if np.any(saved < np.array(lacking) * (1.0 - 1e-8)):
        return f"seed {seed}: {chosen} save {saved} of {lacking}"
    left_alone = [
        candidate.name
        for candidate in candidates
        if candidate.name not in chosen and set(candidate.needs) & set(chosen)
    ]
    if left_alone:
        return f"seed {seed}: {left_alone} stay on without what they need"
    counts = tuple(
        sum(candidate.priority == priority for candidate in off)
        for priority in sorted({candidate.priority for candidate in candidates})
    )
    return "" if counts == best else f"seed {seed}: gives up {counts}, the program {best}"


def main() -> None:
    """Run the campaign and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=500)
    rounds = parser.parse_args().rounds
    faults = [fault for fault in map(fault_of, range(rounds)) if fault]
    print("\n".join(faults))
    print(f"{rounds - len(faults)} of {rounds} answers are the best there is")


if __name__ == "__main__":
    main()
