"""A few seconds of the campaign in tests/campaigns/state_file_campaign.py: no wrong number, no exception."""

from __future__ import annotations

from pathlib import Path

from state_file_torture import torture


def test_a_file_that_is_torn_killed_and_spoiled_gives_no_wrong_number_and_no_exception(
    tmp_path: Path,
) -> None:
    tally = torture(tmp_path / "tern.json", seconds=4.0, period_s=0.02, poll_s=0.003, seed=7)
    assert tally.wrong == []
    assert tally.exceptions == []
    assert tally.plain_torn > 0, "the producer was not bad enough to prove anything"
    assert tally.refused > 0
    assert tally.kills > 0
    assert len(tally.accepted) > 3, "a source that takes nothing is never wrong"
