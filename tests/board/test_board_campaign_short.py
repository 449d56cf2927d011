"""The board's hour with a bad state file, in its short form."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_the_board_shows_no_wrong_number_while_its_state_file_is_torn_and_spoiled() -> None:
    command = [sys.executable, "tests/campaigns/board_campaign.py", "--minutes", "0.1", "--period", "0.1"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    shown = re.search(r"snapshots shown (\d+)", done.stdout)
    assert shown is not None, done.stdout + done.stderr
    assert int(shown.group(1)) > 5
    assert "wrong numbers 0, errors 0" in done.stdout
    assert done.returncode == 0
