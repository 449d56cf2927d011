"""A short form of the campaign that asks an integer program for the same loads."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path


def test_random_choices_are_the_best_that_an_integer_program_finds() -> None:
    top = Path(__file__).parents[2]
    command = [sys.executable, "tests/campaigns/shed_campaign.py", "--rounds", "120"]
    done = subprocess.run(command, cwd=top, capture_output=True, text=True, check=True, timeout=300)
    assert done.stdout.split("\n")[-2] == "120 of 120 answers are the best there is", done.stdout
