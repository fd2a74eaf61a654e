"""A record loses nothing that it said was written, with two writers, kills and a full disk; what it refuses."""

from __future__ import annotations

import hashlib
import io
import json
import multiprocessing
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from resinid import InputError, Record, identify
from resinid.cli.main import main
from resinid.record.store import Store

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

FLOATS = [{"test": "float", "liquid": "water", "outcome": "floats"}]
EXAMPLES = Path(__file__).parents[2] / "examples"


def write(path: str, who: str, said: Connection) -> None:
    """Add entries with answers until killed, and say of each when it was written."""
    with Store(path) as store:
        for index in range(10**6):
            number = store.add("piece", f"{who} {index}", {"observation": [who] * 50}, {"ranking": [who] * 200})
            store.confirm(number, "PP", who)
            said.send((number, f"{who} {index}"))


@pytest.mark.slow
def test_two_writers_killed_fifty_times_lose_nothing(tmp_path: Path) -> None:
    """Law: whenever a writer is killed, all it said was written is there whole, and the file is sound."""
    path, rng, written = str(tmp_path / "shop.sqlite"), random.Random(5), {}  # noqa: S311 - no secret
    context = multiprocessing.get_context("fork")
    running: list[tuple[multiprocessing.process.BaseProcess, Connection]] = []

    def start(who: str) -> None:
        here, there = context.Pipe(duplex=False)
        process = context.Process(target=write, args=(path, who, there), daemon=True)
        process.start()
        there.close()
        running.append((process, here))

    def heard(said: Connection) -> None:
        while True:
            try:
                if not said.poll():
                    return
                number, name = said.recv()
            except EOFError:
                return
            written[number] = name

    start("a")
    start("b")
    for kill in range(50):
        time.sleep(rng.uniform(0.02, 0.25))
        process, said = running.pop(0)
        assert process.pid is not None
        os.kill(process.pid, signal.SIGKILL)
        process.join(10)
        heard(said)
        start(f"{kill}")
    for process, said in running:
        process.kill()
        process.join(10)
        heard(said)
    with Store(path) as store:
        found = {each.number: each for each in store.entries()}
        assert store._file.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert store._file.execute("PRAGMA foreign_key_check").fetchall() == []
    print(f"{len(written)} entries said to be written, {len(found)} found")
    assert len(written) > 100
    assert all(found[number].name == name and found[number].confirmed == "PP" for number, name in written.items())
    assert all(each.answer is not None for each in found.values())


def fill(store: Store) -> None:
    for index in range(10**4):
        store.add("piece", f"piece {index}", {"note": "x" * 1000})


def test_what_was_written_is_there_when_the_disk_is_full(tmp_path: Path) -> None:
    path = tmp_path / "shop.sqlite"
    with Store(path) as store:
        store.add("piece", "first", {"observation": FLOATS})
        store._file.execute("PRAGMA max_page_count = 30")
        with pytest.raises(InputError, match=r"shop\.sqlite: cannot be used as a record: .*full"):
            fill(store)
        kept = store.entries()
        assert len(kept) > 5
        assert [each.name for each in kept[1:]] == [f"piece {index}" for index in range(len(kept) - 1)]
        store._file.execute("PRAGMA max_page_count = 10000")
        assert store.add("piece", "after") == len(kept) + 1
    limited = (
        "import resource, sys; from resinid.record.store import Store\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))\n"
        "with Store(sys.argv[1]) as store:\n"
        "    for n in range(99): print(store.add('piece', f'more {n}', {'note': 'x' * 9000}), flush=True)\n"
    )
    done = subprocess.run([sys.executable, "-c", limited, str(path)], capture_output=True, text=True, check=False)
    assert "cannot be used as a record" in done.stderr
    with Store(path) as store:
        assert {int(line) for line in done.stdout.split()} <= {each.number for each in store.entries()}
        assert store._file.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_what_is_no_record_is_refused_and_left_as_it_is(tmp_path: Path) -> None:
    text, other, later = tmp_path / "notes.txt", tmp_path / "other.sqlite", tmp_path / "later.sqlite"
    text.write_text("caps\n" * 500, encoding="utf-8")
    with sqlite3.connect(other) as made:
        made.execute("CREATE TABLE caps (n)")
    made.close()
    with Store(later) as store:
        store._file.execute("PRAGMA user_version = 9")
    for path, why in ((text, "not a database"), (other, "no record of resinid"), (later, "later version")):
        before = path.read_bytes()
        with pytest.raises(InputError, match=why):
            Store(path)
        assert path.read_bytes() == before
    with pytest.raises(InputError, match="is not there"):
        Store(tmp_path / "none.sqlite", read_only=True)
    with pytest.raises(InputError, match="no file but a folder"):
        Store(tmp_path)
    with Store(tmp_path / "shop.sqlite") as store:
        with pytest.raises(InputError, match="none of piece"):
            store.add("pile", "caps")
        with pytest.raises(InputError, match="entry 7: is not in"):
            store.add("slab", "tile", made_from=[7])
        assert store.entries() == ()
        store.add("piece", "cap")
        for damaged in ("{", "[1]", "[" * 100_000, "\ud800".encode("utf-8", "surrogatepass")):
            store._file.execute("UPDATE entry SET evidence = ?", (damaged,))
            with pytest.raises(InputError, match=r"shop\.sqlite: "):
                store.entries()
    with Record(tmp_path / "damaged.sqlite") as record:
        record.add("piece", "cap", {}, {"ranking": [{"resin": "PP"}]})
        with pytest.raises(InputError, match="entry 1: has a damaged answer"):
            record.to_frame()


def test_a_record_is_read_where_nothing_may_be_written(tmp_path: Path) -> None:
    path = tmp_path / "shop.sqlite"
    with Store(path) as store:
        store.add("piece", "cap")
    assert [file.name for file in tmp_path.iterdir()] == ["shop.sqlite"]
    before = path.read_bytes()
    with Store(path, read_only=True) as store:
        assert store.entry(1).name == "cap"
        with pytest.raises(InputError, match="readonly"):
            store.add("piece", "lid")
    assert path.read_bytes() == before
    (tmp_path / "shop.sqlite-journal").write_bytes(b"half")
    with pytest.raises(InputError, match="open it once where it may be written"):
        Store(path, read_only=True)


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(names=st.lists(st.text(st.characters(exclude_categories=["Cs"]), max_size=20), max_size=5))
def test_what_is_recorded_comes_back(names: list[str], tmp_path: Path) -> None:
    """Law: texts come back as they were; what is named and the same is one entry, what has no name is always new."""
    (tmp_path / "shop.sqlite").unlink(missing_ok=True)
    with Store(tmp_path / "shop.sqlite") as store:
        numbers = [store.add("piece", name, {"said": name}) for name in names]
        assert [store.entry(number).name for number in numbers] == names
        assert len(store.entries()) == names.count("") + len({name for name in names if name})


def test_lots_are_traced_and_a_fume_stops_all_that_hangs_together(tmp_path: Path) -> None:
    with Record(tmp_path / "shop.sqlite") as record:
        bags = [record.add("bag", name) for name in ("caps", "lids", "crates")]
        plan = record.add("plan", "caps and lids", {}, {"verdict": {"verdict": "one melt"}, "steps": {}},
                          digest=record.reference.digest, made_from=bags[:2])  # fmt: skip
        slab = record.add("slab", "tile", made_from=[plan])
        apart = record.add("slab", "other", made_from=[bags[2]])
        assert [each.number for each in record.trace(bags[0])] == [bags[0], plan, slab]
        assert [each.number for each in record.trace(slab)] == [bags[0], bags[1], plan, slab]
        assert record.verdicts()[plan] == "one melt"
        record.confirm(slab, "fumed")
        told = record.verdicts()
        assert all(told[each] == f"DO NOT HEAT: slab {slab} fumed" for each in (*bags[:2], plan, slab))
        assert told[bags[2]] == told[apart] == ""


def test_history_gives_no_leave(tmp_path: Path) -> None:
    seen = [*FLOATS, {"test": "float", "liquid": "ethanol 40 %v/v", "outcome": "sinks"},
            {"test": "hot_plate", "not_melted_at": "120 degC", "melted_at": "140 degC"}]  # fmt: skip
    with Record(tmp_path / "shop.sqlite") as record:
        answer = record.identify(seen, piece="cap")
        assert answer.heat.allowed
        assert record.verdicts()[1] == answer.heat.verdict
        assert record.result(1) == answer
        told = answer.to_dict()
        record.add("piece", "old", {}, told, digest="of another table")
        record.add("piece", "wrong", {}, told, digest=answer.reference_digest)
        record.confirm(3, "pp", "DSC")
        record.add("piece", "PVC", {}, told, digest=answer.reference_digest)
        record.confirm(4, "PVC-U", "copper wire")
        verdicts = record.verdicts()
        assert all(verdicts[number].startswith("DO NOT HEAT") for number in (2, 3, 4))
        assert "another reference table" in verdicts[2]
        assert "turned out to be PP" in verdicts[3]
        # What was changed in the file is found when the answer is worked out again.
        record.identify(FLOATS, piece="lid")
        changed = json.dumps({**identify(FLOATS, piece="lid").to_dict(), "heat": told["heat"]})
        record._file.execute("UPDATE answer SET data = ? WHERE entry = 5", (changed,))
    with Record(tmp_path / "shop.sqlite") as record:
        assert not record.result(5).heat.allowed


def test_exports_say_the_same_and_can_drop_names(tmp_path: Path) -> None:
    with Record(tmp_path / "shop.sqlite") as record:
        record.identify(FLOATS, piece="=1+1", source="@market", article="tub lid")
        record.confirm(1, "PP", "DSC", "-2+3")
        for ending, reads in (("csv", pd.read_csv), ("parquet", pd.read_parquet)):
            record.export(tmp_path / f"all.{ending}")
            frame = reads(tmp_path / f"all.{ending}")
            assert frame["confirmed"].tolist() == ["PP"]
            assert frame["name"].tolist() == ["'=1+1" if ending == "csv" else "=1+1"]
        assert pd.read_csv(tmp_path / "all.csv")[["source", "note"]].iloc[0].tolist() == ["'@market", "'-2+3"]
        record.export(tmp_path / "all.json")
        data = json.loads((tmp_path / "all.json").read_text(encoding="utf-8"))
        assert data["entries"][0]["evidence"]["observation"][0]["outcome"] == "floats"
        for ending in ("csv", "json", "parquet"):
            record.export(tmp_path / f"bare.{ending}", names=False)
            bare = (tmp_path / f"bare.{ending}").read_bytes()
            assert not any(word in bare for word in (b"1+1", b"market", b"tub lid", b"DSC", b"2+3"))
        with pytest.raises(InputError, match="ends in none of"):
            record.export(tmp_path / "all.txt")


def test_the_command_keeps_lists_shows_confirms_and_exports(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = str(tmp_path / "shop.sqlite")

    def told(*words: str) -> str:
        assert main(words) == 0
        return capsys.readouterr().out

    assert "Recorded as 1" in told("identify", str(EXAMPLES / "green_cap.toml"), "--record", shop, "--source", "market")
    told("record", "add", shop, str(EXAMPLES / "caps_bag.toml"), "--source", "café")
    told("record", "add", shop, "--slab", "tile", "--from", "2")
    told("record", "confirm", shop, "1", "PE-HD", "--how", "DSC")
    told("record", "confirm", shop, "3", "pressed", "well")
    assert "1 confirmed piece" in told("identify", str(EXAMPLES / "green_cap.toml"), "--record", shop)
    listed = json.loads(told("record", "list", shop, "--json"))
    assert [(each["kind"], each["confirmed"], each["fates"], each["source"]) for each in listed] == [
        ("piece", "PE-HD", [], "market"), ("bag", "", [], "café"), ("slab", "", ["pressed well"], ""),
    ]  # fmt: skip
    assert "caps" not in told("record", "list", shop, "--kind", "slab")
    assert "tile" in told("record", "show", shop, "2")
    assert "Heating: may be melted" in told("record", "show", shop, "1")
    assert "3 entries" in told("record", "export", shop, str(tmp_path / "all.csv"), "--without-names")
    assert main(["record", "confirm", shop, "1", "gold"]) == 2
    assert "no resin is called 'gold'" in capsys.readouterr().err
    assert main(["record", "list", str(tmp_path / "none.sqlite")]) == 2


def test_bench_bags_plans_and_tables_are_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    shop = str(tmp_path / "shop.sqlite")
    with Record(shop) as record:
        for number in range(1, 4):
            record.identify(FLOATS, piece=f"lid {number}")
            record.confirm(number, "PP", "DSC")
    (tmp_path / "rows.csv").write_text("density [g/cm3]\n0.957\n", encoding="utf-8")
    monkeypatch.setattr("sys.stdin", io.StringIO("quit\n"))
    caps, rows = str(EXAMPLES / "caps_bag.toml"), [str(tmp_path / name) for name in ("rows.csv", "answers.csv")]
    for words in (["bench", "--piece", "tub"], ["batch", caps], ["plan", caps], ["rows", *rows]):
        with warnings.catch_warnings(action="ignore"):
            assert main([*words, "--record", shop, "--source", "market"]) == 0
        out = capsys.readouterr().out
        assert "Recorded as" in out
        assert ("learned from 3 confirmed pieces" in " ".join(out.split())) == (words[0] == "bench")
    with Record(shop, read_only=True) as record:
        kept = record.entries()[3:]
        assert [(each.kind, each.name, each.source) for each in kept] == [
            ("piece", "tub", "market"), ("bag", "caps", "market"), ("plan", "caps", "market"),
            ("table", "rows.csv", "market"),
        ]  # fmt: skip
        assert kept[2].made_from == (kept[1].number,)
        assert kept[1].answer is not None
        assert kept[2].answer is not None
        assert kept[2].answer.leave == record.verdicts()[kept[2].number].startswith(("one melt", "usable"))
        digests = kept[3].evidence["sha256"]
        assert digests[rows[0]] == hashlib.sha256(Path(rows[0]).read_bytes()).hexdigest()


def test_what_the_record_forbids_stands_before_every_later_answer(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Asked again, of a lot that fumed or a piece that was PVC; and what is made from either is not to be heated."""
    shop, caps, cap = str(tmp_path / "shop.sqlite"), str(EXAMPLES / "caps_bag.toml"), str(EXAMPLES / "green_cap.toml")

    def told(*words: str) -> str:
        assert main(words) == 0
        return " ".join(capsys.readouterr().out.split())

    assert told("plan", caps, "--record", shop).startswith("MELT PLAN")
    told("record", "add", shop, "--slab", "tile", "--from", "2")
    told("record", "confirm", shop, "3", "fumed")
    by_record = "by the record. What follows knows only the readings."
    # The same bag in another mould is another plan, made from what fumed.
    again = told("plan", caps, "--mould", "300x300x10 mm", "--record", shop)
    assert again.startswith(f"DO NOT HEAT: slab 3 fumed, {by_record} MELT PLAN")
    assert told("batch", caps, "--record", shop).startswith("DO NOT HEAT: slab 3 fumed")
    assert "300 x 300 x 10 mm: caps" in told("record", "show", shop, "4")
    told("identify", cap, "--record", shop)
    told("record", "confirm", shop, "5", "PVC-U")
    found = json.loads(told("identify", cap, "--record", shop, "--json"))
    assert found["record"]["danger"] == "piece 5 turned out to be PVC-U"
    assert "DO NOT HEAT again" in told("record", "add", shop, "--slab", "from it", "--from", "5")
    with Record(shop) as record:
        refused = record.identify([{"test": "density", "density": "1.41 ± 0.01 g/cm3"}], piece="gear")
        assert not refused.heat.allowed
        gear = max(each.number for each in record.entries())
        record.add("slab", "gears", made_from=[gear])
        assert record.verdicts()[gear + 1] == f"DO NOT HEAT: made from piece {gear}, which got no leave"
