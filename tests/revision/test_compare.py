"""What a later issue of a drawing changes. Sizes are the drawn ones, worked out by hand beside each check."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pytest
from click.testing import CliRunner

from takeoff.cli import main
from takeoff.documents.comparison import comparison_json, comparison_text
from takeoff.documents.comparison_files import comparison_files
from takeoff.job import Job, read_job
from takeoff.pipeline import take_off
from takeoff.revision.compare import Comparison, compare
from tests.revision.issues_of_a_drawing import Issue

FIRST = Issue()


def compared(tmp_path: Path, after: Issue, before: Issue = FIRST) -> Comparison:
    one, other = before.save(tmp_path / "old.dxf"), after.save(tmp_path / "new.dxf")
    return compare(take_off(one, Job()), take_off(other, Job()))


def kinds(comparison: Comparison) -> list[str]:
    return sorted(c.kind for c in comparison.changes)


def test_written_out_again_nothing_is_changed(tmp_path: Path) -> None:
    """Another version, other handles, another order, lines split: the same building."""
    old = FIRST.save(tmp_path / "old.dxf")
    doc = ezdxf.readfile(old)
    again = ezdxf.new("R2000")
    again.header["$INSUNITS"] = 6
    for layer in ("Walls", "Doors", "Names"):
        again.layers.add(layer)
    space = again.modelspace()
    for entity in reversed(list(doc.modelspace())):
        if entity.dxftype() == "LWPOLYLINE":
            corners = [(p[0], p[1]) for p in entity.get_points()]  # type: ignore[attr-defined]
            for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
                middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
                space.add_line(a, middle, {"layer": "Walls"})
                space.add_line(middle, b, {"layer": "Walls"})
        else:
            space.add_foreign_entity(entity.copy())
    again.saveas(tmp_path / "new.dxf")
    comparison = compare(take_off(old, Job()), take_off(tmp_path / "new.dxf", Job()))
    assert kinds(comparison) == ["same", "same"]
    assert comparison.difference.wall_net_m2 == pytest.approx(0, abs=1e-6)
    assert "Nothing is changed" in comparison_text(comparison)


@pytest.mark.parametrize(("turn", "shift"), [(0.0, (50.0, -20.0)), (90.0, (0.0, 0.0)), (23.0, (700.0, 300.0))])
def test_moved_and_turned_on_the_sheet_nothing_is_changed(
    tmp_path: Path, turn: float, shift: tuple[float, float]
) -> None:
    comparison = compared(tmp_path, FIRST.with_(turn=turn, shift=shift))
    assert kinds(comparison) == ["same", "same"]
    assert all(c.moved for c in comparison.changes)


def test_a_wall_that_moved(tmp_path: Path) -> None:
    """The parting wall goes 0.5 m east: 0.5 x 6 = 3 m2 of floor change sides, ceilings stay as much in all."""
    comparison = compared(tmp_path, FIRST.with_(parting=4.5))
    assert kinds(comparison) == ["changed", "changed"]
    grown = {c.title.split()[1]: c.difference for c in comparison.changes}
    assert grown["Kitchen"].floor_m2 == pytest.approx(3.0, abs=1e-6)
    assert grown["Lounge"].floor_m2 == pytest.approx(-3.0, abs=1e-6)
    assert grown["Kitchen"].wall_net_m2 == pytest.approx(2 * 0.5 * 2.4, abs=1e-6)  # two walls half a metre longer
    assert comparison.difference.ceiling_m2 == pytest.approx(0.0, abs=1e-6)


def test_a_wider_door(tmp_path: Path) -> None:
    """0.2 m wider and 2.1 m high, out of both faces of the wall."""
    comparison = compared(tmp_path, FIRST.with_(door=1.0))
    assert kinds(comparison) == ["changed", "changed"]
    assert all(any("width 0.80 -> 1.00 m" in d for d in c.differs) for c in comparison.changes)
    assert comparison.difference.wall_net_m2 == pytest.approx(-2 * 0.2 * 2.1, abs=1e-6)


def test_a_new_name_alone_is_no_more_work(tmp_path: Path) -> None:
    comparison = compared(tmp_path, FIRST.with_(names=("Kitchen", "Dining room")))
    assert kinds(comparison) == ["renamed", "same"]
    assert comparison.difference.hours == pytest.approx(0, abs=1e-6)


def test_a_wall_taken_out_joins_two_rooms_and_back(tmp_path: Path) -> None:
    whole = FIRST.with_(parted=False, names=("Lounge",))
    joined = compared(tmp_path, whole)
    assert kinds(joined) == ["joined"] and len(joined.changes[0].before) == 2
    assert joined.changes[0].difference.floor_m2 == pytest.approx(0.1 * 6, abs=1e-6)  # where the wall stood
    split = compared(tmp_path, FIRST, whole)
    assert kinds(split) == ["split"] and len(split.changes[0].after) == 2


def test_an_extension_is_new_and_its_going_is_told(tmp_path: Path) -> None:
    """3 - 0.3 m wide inside and 6 m deep: 2.7 x 6 = 16.2 m2."""
    larger = FIRST.with_(extension=True, names=("Kitchen", "Lounge", "Dining room"))
    added = compared(tmp_path, larger)
    assert kinds(added) == ["added", "changed", "same"]  # the lounge has a door more
    new = next(c for c in added.changes if c.kind == "added")
    assert new.new.floor_m2 == pytest.approx(2.7 * 6, abs=1e-6) and not new.before
    removed = compared(tmp_path, FIRST, larger)
    assert kinds(removed) == ["changed", "removed", "same"]
    assert removed.difference.floor_m2 == pytest.approx(-2.7 * 6, abs=1e-6)


def test_the_differences_of_rooms_add_up_to_the_whole(tmp_path: Path) -> None:
    larger = FIRST.with_(extension=True, parting=3.6, names=("Kitchen", "Lounge", "Dining room"))
    comparison = compared(tmp_path, larger)
    for name in ("floor_m2", "wall_net_m2", "ceiling_m2", "reveal_m2", "hours"):
        rooms = sum(getattr(c.difference, name) for c in comparison.changes)
        assert rooms == pytest.approx(getattr(comparison.difference, name), abs=1e-4)


def test_the_files_are_the_same_bytes_each_time(tmp_path: Path) -> None:
    comparison = compared(tmp_path, FIRST.with_(extension=True, names=("Kitchen", "Lounge", "Dining room")))
    files = comparison_files(comparison)
    assert files == comparison_files(comparison)
    assert {"changes.pdf", "changes.svg", "variation.pdf", "variation.docx", "changes.csv", "changes.json"} == set(
        files
    )
    assert comparison_json(comparison) == files["changes.json"]
    assert ">NEW<" in str(files["changes.svg"])


def test_a_drawing_without_rooms_is_named_not_compared(tmp_path: Path) -> None:
    """One lone line: nothing is gone or new, there is nothing to compare with."""
    FIRST.save(tmp_path / "old.dxf")
    doc = ezdxf.new(units=6)
    doc.modelspace().add_line((0, 0), (5, 0))
    doc.saveas(tmp_path / "lone.dxf")
    done = CliRunner().invoke(main, ["compare", str(tmp_path / "old.dxf"), str(tmp_path / "lone.dxf")])
    assert done.exit_code == 1 and "Error: lone.dxf: " in done.output and "room" in done.output


def test_the_command_carries_the_job_over(tmp_path: Path) -> None:
    """Turned by 180 degrees the rooms are numbered the other way round: each height stays with its room."""
    FIRST.save(tmp_path / "old.dxf")
    FIRST.with_(turn=180).save(tmp_path / "new.dxf")
    rooms = {r.name: r.ref for r in take_off(tmp_path / "old.dxf", Job()).plan.rooms}
    job = tmp_path / "job.toml"
    job.write_text(f'[drawing]\nfile = "old.dxf"\n\n[rooms.{rooms["Lounge"]}]\nheight = 3.0\n', encoding="utf-8")
    command = ["compare", str(tmp_path / "old.dxf"), str(tmp_path / "new.dxf"), "--job", str(job)]
    done = CliRunner().invoke(main, [*command, "--out", str(tmp_path / "out")])
    assert done.exit_code == 0, done.output
    assert "Nothing is changed" in done.output
    carried = read_job(tmp_path / "out" / "new.toml")
    assert (tmp_path / "out" / carried.drawing.file).resolve() == (tmp_path / "new.dxf").resolve()
    now = {r.name: r.ref for r in take_off(tmp_path / "new.dxf", Job()).plan.rooms}
    assert now != rooms
    assert {ref: row.height for ref, row in carried.rooms.items()} == {now["Lounge"]: 3.0}
