"""A growing file as it was at a moment: what had come by then and nothing of what came after."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from feed_builders import CHANNELS, EPOCH
from growing_builders import HEADER, arrived_of, json_line, line

from console.engine.reading import Quality
from console.errors import FeedError
from console.feed import recorded_file
from console.feed.growing_file import GrowingFileSource
from console.feed.recorded_file import RecordedFileSource, end_at, first_time_s


def of(path: Path, text: str | bytes) -> Path:
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_only_what_had_come_is_read_and_the_rest_at_its_time(tmp_path: Path) -> None:
    path = of(
        tmp_path / "tern.csv",
        HEADER + "".join(line(at, "tank.mass", 40 - at / 1000) for at in (900, 910, 920, 930)),
    )
    source = RecordedFileSource(path, CHANNELS, EPOCH)
    assert arrived_of(source.poll(915)) == {"tank.mass": [(900, 39.1), (910, 39.09)]}
    assert source.is_caught_up
    assert arrived_of(source.poll(916)) == {}
    feed = source.poll(930)
    assert arrived_of(feed) == {"tank.mass": [(920, 39.08), (930, 39.07)]}
    assert (feed.quality, feed.at_s) == (Quality.GOOD, 930)
    assert feed.faults == (), "nothing of what came later was called a wrong time"


@pytest.mark.parametrize("kind", ["csv", "jsonl"])
@pytest.mark.parametrize("seed", range(4))
def test_the_end_found_by_halving_is_that_of_reading_line_by_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str, seed: int
) -> None:
    monkeypatch.setattr(recorded_file, "CLOSE_BYTES", 300)
    draw = random.Random(seed)
    times = sorted(draw.sample(range(100, 9000), 400))
    lines, ends, place = [], [], 0
    if kind == "csv":
        lines.append(HEADER)
        place = len(lines[0])
    for at in times:
        written = (line if kind == "csv" else json_line)(at, "tank.mass", draw.uniform(1, 50))
        lines.append(written)
        place += len(lines[-1])
        ends.append(place)
        if draw.random() < 0.05:
            lines.append("\n" if draw.random() < 0.5 else "no line at all\n")
            place += len(lines[-1])
    path = of(tmp_path / f"tern.{kind}", "".join(lines))
    for now_s in [50, *draw.sample(times, 20), 20_000]:
        found = end_at(path, EPOCH, now_s)
        had_come = [end for at, end in zip(times, ends, strict=True) if at <= now_s]
        least = had_come[-1] if had_come else 0
        later = [end for at, end in zip(times, ends, strict=True) if at > now_s]
        assert least <= found
        if later:
            assert found < later[0], "not one line that had not come"
        else:
            assert found == path.stat().st_size


def test_one_line_with_a_time_ahead_does_not_end_the_file_there(tmp_path: Path) -> None:
    text = HEADER
    for at in (900, 99_000, 910, 920):
        text += line(at, "tank.mass", 40)
    source = RecordedFileSource(of(tmp_path / "tern.csv", text), CHANNELS, EPOCH)
    feed = source.poll(915)
    assert [at for at, _ in arrived_of(feed)["tank.mass"]] == [900, 910]


def test_read_in_many_looks_it_gives_what_one_look_at_the_end_gives(tmp_path: Path) -> None:
    draw = random.Random(7)
    names = ["tank.mass", "bat-1.current"]
    text = HEADER + "".join(
        line(at, draw.choice(names), round(draw.uniform(1, 20), 2)) for at in range(500, 1000, 3)
    )
    path = of(tmp_path / "tern.csv", text)
    stepped: dict[str, list[tuple[float, float]]] = {}
    source = RecordedFileSource(path, CHANNELS, EPOCH)
    for now_s in range(480, 1001, 20):
        for name, rows in arrived_of(source.poll(now_s)).items():
            stepped.setdefault(name, []).extend(rows)
    assert stepped == arrived_of(GrowingFileSource(path, CHANNELS, EPOCH).poll(1000))


def test_the_first_time_is_that_of_the_first_line_that_has_one(tmp_path: Path) -> None:
    text = HEADER + "not a line\n" + line(77, "tank.mass", 1)
    assert first_time_s(of(tmp_path / "tern.csv", text), EPOCH) == 77


def test_a_file_without_a_time_and_one_that_is_not_there_are_said(tmp_path: Path) -> None:
    with pytest.raises(FeedError, match="no line of it has a time"):
        first_time_s(of(tmp_path / "tern.csv", HEADER), EPOCH)
    feed = RecordedFileSource(tmp_path / "gone.csv", CHANNELS, EPOCH).poll(1)
    assert feed.quality is Quality.MISSING
    assert "gone.csv: is not there" in feed.faults[0]
