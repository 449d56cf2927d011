"""``endurance simulate``: a feed, a truth and a journal of one contingency, the same each time."""

from __future__ import annotations

import csv
import json
import math
from argparse import Namespace
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from console.cli.rehearsal import Rehearsal
from console.instants import parse_utc
from console.record.entry import EntryKind
from console.record.journal import Journal
from console.record.verify import verify
from console.scenario.load import load_scenario

EPOCH = parse_utc("2041-06-02T03:10:00Z")
SHORT = ("--hours", "5")


def lines_of(path: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in path.read_text().splitlines()]


def simulated(endurance: Any, out: Path, tern: Path, *words: object) -> Any:
    said = endurance("simulate", "--out", out, "--json", *words, tern)
    assert said.status == 0, said.err
    return said.document


def test_the_feed_is_csv_of_every_channel_at_every_moment(endurance: Any, tern: Path, tmp_path: Path) -> None:
    document = simulated(endurance, tmp_path / "out", tern, *SHORT)
    with (tmp_path / "out" / "feed.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == ["at", "channel", "value"]
    moments = sorted({row["at"] for row in rows})
    assert len(moments) == 5 * 60 + 1
    assert (moments[0], moments[-1]) == (document["from"], document["until"])
    assert parse_utc(moments[0]) == EPOCH + timedelta(hours=25.8)
    assert len(rows) == document["files"]["feed.csv"]["lines"] - 1
    assert {row["channel"] for row in rows if row["at"] == moments[7]} == {row["channel"] for row in rows}
    pressures = [float(row["value"]) for row in rows if row["channel"] == "cabin.pressure"]
    assert all(37.0 < pressure < 39.0 for pressure in pressures), "in the channel's own kPa"
    assert {row["value"] for row in rows if row["channel"] == "bat-1.current"} <= {
        f"{tenth / 10:g}" for tenth in range(900)
    }, "as the display shows it, without the last bits of a float"


def test_json_lines_hold_the_same_readings(endurance: Any, tern: Path, tmp_path: Path) -> None:
    fault = "drop-out:at=T+27h,until=T+28h,channel=cabin.pressure,says=null"
    for name in ("csv", "jsonl"):
        simulated(endurance, tmp_path / name, tern, *SHORT, "--format", name, "--fault", fault)
    with (tmp_path / "csv" / "feed.csv").open(newline="") as file:
        rows = [
            (row["at"], row["channel"], float(row["value"]) if row["value"] else None)
            for row in csv.DictReader(file)
        ]
    documents = lines_of(tmp_path / "jsonl" / "feed.jsonl")
    assert [(each["at"], each["channel"], each["value"]) for each in documents] == rows
    assert sum(value is None for _, _, value in rows) == 60


def test_the_same_seed_gives_the_same_bytes_and_another_does_not(
    endurance: Any, tern: Path, tmp_path: Path
) -> None:
    fault = ("--fault", "spikes:at=T+26h,channel=bat-1.current,size=9 A,per_hour=20")
    for name, seed in (("one", 7), ("two", 7), ("three", 8)):
        simulated(endurance, tmp_path / name, tern, *SHORT, *fault, "--seed", seed)
    for file in ("feed.csv", "truth.jsonl"):
        one, two, three = ((tmp_path / name / file).read_bytes() for name in ("one", "two", "three"))
        assert one == two
        assert one != three
    bodies = [
        [
            (entry["id"], entry["happened_at"], entry["body"])
            for entry in lines_of(tmp_path / name / "entries.jsonl")
        ]
        for name in ("one", "two")
    ]
    assert bodies[0] == bodies[1] != []


def test_the_journal_is_a_real_one_written_in_the_scenarios_time(
    endurance: Any, tern: Path, tmp_path: Path
) -> None:
    document = simulated(endurance, tmp_path / "out", tern, *SHORT)
    path = tmp_path / "out" / "journal.db"
    found = verify(path, scenario="tern", epoch=EPOCH)
    assert found.is_sound
    assert found.count == document["files"]["journal.db"]["entries"] > 10
    journal = Journal.open(
        path, scenario="tern", epoch=EPOCH, clock=lambda: EPOCH, monotonic=lambda: 0.0, read_only=True
    )
    with journal:
        entries = journal.entries()
    assert [entry.written_at for entry in entries] == sorted(entry.written_at for entry in entries)
    assert all(entry.happened_at < entry.written_at <= parse_utc(document["until"]) for entry in entries)
    steps = [entry.body["step"] for entry in entries if entry.body.get("procedure") == "burn-up"]
    assert steps == [str(number) for number in range(1, 13) if number != 10]
    assert [entry.body["option"] for entry in entries if "option" in entry.body] == ["homeward"]
    assert [entry.text for entry in entries if entry.kind is EntryKind.NOTE] == [
        "level burn to quiet: moved without a step: eng-gimbal, eng-valves, nav-tracker, th-pump-2"
    ]
    ids = [entry["id"] for entry in lines_of(tmp_path / "out" / "entries.jsonl")]
    assert ids == [entry.id for entry in entries]


def test_other_commands_take_the_journal(endurance: Any, tern: Path, tmp_path: Path) -> None:
    simulated(endurance, tmp_path / "out", tern, *SHORT)
    journal = tmp_path / "out" / "journal.db"
    assert endurance("log", "verify", "--journal", journal, tern).status == 0
    assert "burn-up/9" in endurance("log", "list", "--journal", journal, tern).out


def test_nobody_logs_where_there_are_no_operators(endurance: Any, tern: Path, tmp_path: Path) -> None:
    document = simulated(endurance, tmp_path / "out", tern, *SHORT, "--no-operators")
    assert document["files"]["journal.db"]["entries"] == 0
    assert (tmp_path / "out" / "entries.jsonl").read_text() == ""
    assert verify(tmp_path / "out" / "journal.db").is_sound


def test_the_truth_says_what_was_drawn_what_went_wrong_and_how_it_ended(
    endurance: Any, tern: Path, tmp_path: Path
) -> None:
    faults = ("leak:at=T+27h,store=o2-1,rate=0.5 kg/h", "mistimed-entry:at=T+28h,later=6 min")
    words = [word for fault in faults for word in ("--fault", fault)]
    document = simulated(endurance, tmp_path / "out", tern, *SHORT, *words)
    lines = lines_of(tmp_path / "out" / "truth.jsonl")
    first = lines[0]
    assert (first["what"], first["format"], first["seed"]) == ("contingency", 1, 41)
    assert 0.8 < first["load_factors"]["com-radio"] < 1.2
    assert first["biases"]["bat-2.current"] == {"value": 0.1, "unit": "A"}, "named in simulation.yaml"
    assert first["biases"]["bat-1.current"]["value"] != 0.0, "drawn"
    leak, mistimed = (line for line in lines if line["what"] == "fault")
    assert (leak["kind"], leak["at"], leak["store"]) == ("leak", "2041-06-03T06:10:00Z", "o2-1")
    assert leak["rate_si_per_s"] == pytest.approx(0.5 / 3600)
    assert (mistimed["kind"], mistimed["by_s"]) == ("mistimed-entry", 360.0)
    late = [line for line in lines if line["what"] == "act" and line["done"] != line["logged_for"]]
    assert [(line["step"], line["logged_for"], line["done"]) for line in late] == [
        ("burn-up/2", "2041-06-03T07:40:00Z", "2041-06-03T07:46:00Z")
    ]
    states = [line for line in lines if line["what"] == "state"]
    gaps = [
        (parse_utc(later["at"]) - parse_utc(earlier["at"])).total_seconds()
        for earlier, later in pairwise(states[:20])
    ]
    assert set(gaps) == {600.0}
    assert states[0]["supplies"]["water"]["unit"] == "kg"
    assert states[0]["stores"]["o2-1"] == pytest.approx(8.66, abs=0.01)
    assert states[-1]["elapsed_h"] > 120.0, "it goes on after the last reading"
    ends = {line["supply"]: line["at"] for line in lines if line["what"] == "usable_gone"}
    assert ends == document["usable_gone"]
    later = next(state for state in states if state["elapsed_h"] > 46.0)
    assert later["stores"]["o2-1"] < 0.3, "8.66 kg at half a kilogram an hour, and what people breathe"


def test_the_stretch_and_the_step_are_as_asked(endurance: Any, tern: Path, tmp_path: Path) -> None:
    words = ("--from", "T+26h30m", "--until", "T+26h31m", "--every", "1s")
    document = simulated(endurance, tmp_path / "out", tern, *words)
    assert (document["from"], document["until"]) == ("2041-06-03T05:40:00Z", "2041-06-03T05:41:00Z")
    with (tmp_path / "out" / "feed.csv").open(newline="") as file:
        moments = {row["at"] for row in csv.DictReader(file)}
    assert len(moments) == 61


def test_without_words_it_goes_on_to_need(endurance: Any, tern: Path, tmp_path: Path) -> None:
    document = simulated(endurance, tmp_path / "out", tern, "--every", "1h")
    assert document["until"] == "2041-06-06T10:40:00Z"


def test_an_earlier_runs_files_stay_unless_forced(endurance: Any, tern: Path, tmp_path: Path) -> None:
    simulated(endurance, tmp_path / "out", tern, *SHORT, "--format", "jsonl")
    before = (tmp_path / "out" / "feed.jsonl").read_bytes()
    said = endurance("simulate", "--out", tmp_path / "out", *SHORT, "--seed", 3, tern)
    assert said.status == 2
    assert "holds feed.jsonl, truth.jsonl, entries.jsonl, journal.db already" in said.err
    assert "--force" in said.err
    assert (tmp_path / "out" / "feed.jsonl").read_bytes() == before
    (tmp_path / "out" / "notes.txt").write_text("mine")
    said = endurance("simulate", "--out", tmp_path / "out", *SHORT, "--seed", 3, "--force", tern)
    assert said.status == 0
    assert not (tmp_path / "out" / "feed.jsonl").exists(), "no feed of another contingency stays beside it"
    assert (tmp_path / "out" / "feed.csv").exists()
    assert (tmp_path / "out" / "notes.txt").read_text() == "mine"
    assert verify(tmp_path / "out" / "journal.db", scenario="tern").is_sound


def test_for_people_it_says_where_the_files_are_and_what_lasts(
    endurance: Any, tern: Path, tmp_path: Path
) -> None:
    out = endurance("simulate", "--out", tmp_path / "out", *SHORT, tern).out
    assert "Tern, seed 41: read from T+25h48m to T+30h48m, 0 faults" in out
    assert f"{tmp_path / 'out' / 'feed.csv'}: " in out
    assert "water: usable until T+" in out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--seed", "-1"), "write a whole number from 0 on"),
        (("--every", "0s"), "write a time from 0.1 s to a day"),
        (("--every", "1 kg"), "a mass; write a time"),
        (("--hours", "0"), "write a number of hours above 0"),
        (("--from", "T+1h"), "--from: found 'T+1h'; the simulated craft starts at T+25h48m"),
        (("--until", "T+20h"), "--until: the last reading lies at T+20h00m, not after the first one"),
        (("--until", "noon"), "--until: found 'noon'; write UTC as"),
        (("--until", "T+9000h", "--every", "1s"), "--every: more than 2,000,000 readings"),
        (("--fault", "leek:store=o2-1"), "--fault leek:store=o2-1: kind: found 'leek'; did you mean 'leak'?"),
        (("--fault", "leak:at=T+30h,store=o2-1,rate=2 A"), "rate: found '2 A', a current; write a mass per"),
        (("--fault", "leak:at=T+30h,{"), "write KIND:KEY=VALUE,KEY=VALUE"),
        (("--until", "T+40h", "--hours", "4"), "not allowed with argument"),
    ],
)
def test_what_cannot_be_is_told_before_anything_is_written(
    endurance: Any, tern: Path, tmp_path: Path, words: tuple[str, ...], told: str
) -> None:
    said = endurance("simulate", "--out", tmp_path / "out", *words, tern)
    assert said.status == 2
    assert told in said.err
    assert "defect" not in said.err
    assert not (tmp_path / "out").exists()


def test_a_folder_that_cannot_be_made_is_told(endurance: Any, tern: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    said = endurance("simulate", "--out", tmp_path / "file" / "out", *SHORT, tern)
    assert said.status == 2
    assert "cannot be written to" in said.err


def test_random_faults_stand_in_the_truth(endurance: Any, tern: Path, tmp_path: Path) -> None:
    text = (tern / "simulation.yaml").read_text() + "random_faults: {per_day: 24, kinds: [bias, stuck]}\n"
    (tern / "simulation.yaml").write_text(text)
    document = simulated(endurance, tmp_path / "out", tern, *SHORT)
    faults = [line for line in lines_of(tmp_path / "out" / "truth.jsonl") if line["what"] == "fault"]
    assert len(faults) == document["faults"]
    # 24 a day until 100 h after the last need: some 182 h.
    assert len(faults) == pytest.approx(182, abs=4 * math.sqrt(182))
    assert {fault["kind"] for fault in faults} == {"bias", "stuck"}


def test_a_rehearsal_takes_another_seed_where_its_command_has_one(tern: Path) -> None:
    scenario = load_scenario(tern)

    def shown(**words: object) -> dict[str, float | None]:
        rehearsal = Rehearsal(Namespace(speed=None, **words), scenario, None, runs=False)
        readings = rehearsal.source.poll(25.8 * 3600).readings
        return {name: reading.value_si for name, reading in readings.items()}

    assert shown(seed=None) == shown(seed=41), "that of simulation.yaml"
    assert shown(seed=None) != shown(seed=5)
