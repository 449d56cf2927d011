"""An hour of a state file that is rewritten in place, torn, spoiled and killed at, against its reader.

Usage: python tests/campaigns/state_file_campaign.py --minutes 60
Prints what came of it; ends with 1 when a wrong number was taken or an exception came out.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS.parent), str(TESTS / "feed")]

from state_file_torture import torture  # noqa: E402 - found on the path set above


def main() -> int:
    """Run it and print the figures."""
    parser = argparse.ArgumentParser(description="Torture the reader of state files.")
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument(
        "--period", type=float, default=0.2, help="seconds between two documents, on the whole"
    )
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        tally = torture(
            Path(folder) / "tern.json",
            seconds=asked.minutes * 60.0,
            period_s=asked.period,
            poll_s=asked.period / 4.0,
            seed=asked.seed,
        )
    print(f"minutes             {asked.minutes:g}")
    print(f"polls               {tally.polls}")
    print(f"polls without fault {tally.good}")
    print(f"polls that refused  {tally.refused}")
    print(f"plain reads torn    {tally.plain_torn}")
    print(f"documents taken     {len(tally.accepted)}")
    print(f"writers killed      {tally.kills}")
    print(f"wrong numbers       {len(tally.wrong)}")
    print(f"exceptions          {len(tally.exceptions)}")
    print(
        f"writer held up      {len(tally.held_up)} (numbers from a document whose writer the machine stopped)"
    )
    for line in (*tally.wrong[:10], *tally.exceptions[:10]):
        print("  ", line)
    return 1 if tally.wrong or tally.exceptions else 0


if __name__ == "__main__":
    raise SystemExit(main())
