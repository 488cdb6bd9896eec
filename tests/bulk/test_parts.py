"""Parts of a run: names, keys, the store, the time left."""

from __future__ import annotations

import threading
from dataclasses import replace
from pathlib import Path

import pytest

from takeoff.bulk.keys import key_of, program_digest
from takeoff.bulk.listing import entries
from takeoff.bulk.model import Limits, Outcome, Request, Summary, Wanted
from takeoff.bulk.one import packed, take_off_one, unpacked
from takeoff.bulk.run import request_of
from takeoff.bulk.store import Store
from takeoff.bulk.tally import Tally, spoken
from takeoff.errors import DrawingError, JobError
from tests.bulk.drawings import broken, one_room

REQUEST = Request("a.dxf", b"drawing", "a.toml", b"job", Wanted())
DONE = Outcome("done", summary=Summary(1, 0, 9.0, 28.8, 9.0, 0.0, 4.0, 200.0), files={"takeoff.json": b"{}"})


def test_names_fit_any_disk_and_differ(tmp_path: Path) -> None:
    for name in ("a b.dxf", "a-b.dxf", "A b.DXF", "..x/..y.dxf", "ü&=+.dxf"):
        broken(tmp_path / name)
    names = [entry.name for entry in entries([tmp_path])]
    assert len({name.lower() for name in names}) == len(names) == 5
    assert all(not part.startswith(".") for name in names for part in name.split("/"))


def test_each_drawing_once_and_none_of_the_folder_left_out(tmp_path: Path) -> None:
    here, out = broken(tmp_path / "a.dxf"), broken(tmp_path / "out" / "b.dxf")
    assert [e.drawing for e in entries([tmp_path, here], leave_out=out.parent)] == [here]
    with pytest.raises(DrawingError, match="names another list"):
        (tmp_path / "l.txt").write_text("m.txt\n")
        entries([tmp_path / "l.txt"])


def test_a_drawing_that_a_job_names_beside_another_is_part_of_that_job(tmp_path: Path) -> None:
    one_room(tmp_path / "ground.dxf", 4)
    one_room(tmp_path / "upper.dxf", 5)
    (tmp_path / "ground.toml").write_text('[drawing]\nmore = ["upper.dxf"]\n')
    (entry,) = entries([tmp_path])
    outcome = unpacked(take_off_one(request_of(entry, Wanted(only=("json",))), str(tmp_path)))
    assert outcome.summary is not None and outcome.summary.floor_m2 == pytest.approx(4 * 3 + 5 * 3)
    (tmp_path / "ground.toml").write_text('[drawing]\nmore = ["../upper.dxf"]\n')
    with pytest.raises(JobError, match=r"ground.toml: drawing.more: \.\./upper.dxf is not beside"):
        take_off_one(replace(REQUEST, job_name="ground.toml", job=b"", more=(("../upper.dxf", b""),)), str(tmp_path))


@pytest.mark.parametrize(
    "other",
    [
        replace(REQUEST, drawing=b"drawing2"),
        replace(REQUEST, job=b"job2"),
        replace(REQUEST, job=None),
        replace(REQUEST, drawing_name="b.dxf"),
        replace(REQUEST, more=(("b.dxf", b"upstairs"),)),
        replace(REQUEST, wanted=Wanted(quote=True)),
        replace(REQUEST, wanted=Wanted(only=("json",))),
        replace(REQUEST, job=b"jobd", drawing=b"rawing"),
    ],
)
def test_a_key_hangs_on_everything_that_bears_on_the_outcome(other: Request) -> None:
    program = program_digest()
    assert key_of(other, program) != key_of(REQUEST, program) == key_of(REQUEST, program_digest())
    assert key_of(REQUEST, "another program") != key_of(REQUEST, program)


def test_packing_loses_nothing_and_is_the_same_each_time() -> None:
    assert unpacked(packed(DONE)) == DONE
    assert packed(DONE) == packed(unpacked(packed(DONE)))
    with pytest.raises(ValueError, match="incorrect header"):
        unpacked(b"something else")


def test_what_was_given_up_counts_under_its_limits_only(tmp_path: Path) -> None:
    store = Store(tmp_path / "kept")
    store.keep("aa", Outcome("given up", "Too long."), Limits(10, 100))
    assert store.find("aa", Limits(10, 100)) is not None
    assert store.find("aa", Limits(20, 100)) is None
    store.keep("bb", Outcome("refused", "No walls."), Limits(10, 100))
    assert store.find("bb", Limits(20, 100)) is not None


def test_many_writers_at_once(tmp_path: Path) -> None:
    store = Store(tmp_path / "kept")

    def write(n: int) -> None:
        for m in range(20):
            store.keep(f"{m:02d}", DONE, Limits())
            store.place(tmp_path / f"{n}-{m}", f"{m:02d}")

    threads = [threading.Thread(target=write, args=(n,)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert all(store.files(f"{m:02d}") == DONE for m in range(20))
    assert store.placed(tmp_path / "3-19") == "19"


def test_time_left_is_the_pace_by_cost_without_what_was_known() -> None:
    """Five drawings of equal size, 10 s each: after one known and three worked on, one is left: 10 s."""
    now = [0.0]
    tally = Tally([5_000_000] * 5, clock=lambda: now[0])
    tally.add(0, DONE, known=True)
    assert tally.left_s() is None
    for number in (1, 2, 3):
        now[0] += 10
        tally.add(number, DONE, known=False)
    assert tally.left_s() == pytest.approx(10)
    assert tally.says() == "4 of 5 drawings, 1 known from before, about 10 s left"


@pytest.mark.parametrize(("seconds", "says"), [(0.2, "1 s"), (89, "89 s"), (600, "10 min"), (12_000, "3 h 20 min")])
def test_time_as_people_say_it(seconds: float, says: str) -> None:
    assert spoken(seconds) == says
