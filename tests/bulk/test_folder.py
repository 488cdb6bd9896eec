"""`takeoff folder`: what a person sees of a run. Areas are plain arithmetic on the sizes drawn."""

from __future__ import annotations

import io
import json
import os
import re
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import ezdxf
import openpyxl
import pytest
from click.testing import CliRunner, Result

from takeoff.cli import main
from tests.bulk.drawings import broken, one_room
from tests.documents.spreadsheet import differences, formulas, needs_soffice, recalculated
from tests.test_documented import DOCS, named

WIDTHS = (3.0, 4.0, 5.0, 6.0)


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """Four rooms in folders, one with a job file beside it, and a file that is no drawing."""
    for number, wide in enumerate(WIDTHS):
        one_room(tmp_path / "in" / ("deep/er" if number % 2 else ".") / f"house {number}.dxf", wide)
    (tmp_path / "in" / "house 0.toml").write_text("[heights]\ndefault = 3.0\n")
    broken(tmp_path / "in" / "letter.dxf")
    return tmp_path


def run(site: Path, *words: object, out: str = "out") -> Result:
    return CliRunner().invoke(main, ["folder", str(site / "in"), "--out", str(site / out), *map(str, words)])


def table(path: Path, sheet: str) -> list[dict[str, object]]:
    rows = openpyxl.load_workbook(path, data_only=True)[sheet].iter_rows(min_row=4, values_only=True)
    heads = next(rows)
    return [dict(zip(map(str, heads), row, strict=True)) for row in rows]


def contents(folder: Path) -> dict[str, bytes]:
    return {
        str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file() and ".kept" not in p.parts
    }


def test_every_drawing_is_in_the_index_and_a_bad_one_stops_nothing(site: Path) -> None:
    result = run(site, "--workers", 2)
    assert result.exit_code == 0, result.output
    assert "4 of 5 drawings taken off" in result.output
    assert "letter: refused: letter.dxf" in result.output
    rows = {str(row["Drawing"]): row for row in table(site / "out" / "index.xlsx", "Drawings")}
    assert list(rows) == ["deep/er/house-1", "deep/er/house-3", "house-0", "house-2"]
    assert [rows[n]["Floors (m2)"] for n in rows] == pytest.approx([12, 18, 9, 15])
    assert rows["house-0"]["Walls net (m2)"] == pytest.approx(2 * (3 + 3) * 3.0)
    assert rows["house-2"]["Walls net (m2)"] == pytest.approx(2 * (5 + 3) * 2.4)
    without = table(site / "out" / "index.xlsx", "Without a takeoff")
    assert [(row["Drawing"], row["State"]) for row in without] == [("letter", "refused")]


def test_links_of_the_index_lead_to_documents(site: Path) -> None:
    run(site, "--workers", 1)
    book = openpyxl.load_workbook(site / "out" / "index.xlsx")
    formulas = [c.value for row in book["Drawings"].iter_rows() for c in row if str(c.value).startswith("=HYPERLINK")]
    assert len(formulas) == 2 * len(WIDTHS)  # workbook and marked plan
    for formula in formulas:
        assert (site / "out" / formula.split('"')[1]).is_file()


@needs_soffice
def test_totals_of_the_index_are_live_and_right(site: Path, tmp_path: Path) -> None:
    run(site, "--workers", 1)
    content = (site / "out" / "index.xlsx").read_bytes()
    assert formulas(content)
    assert differences(content, recalculated(openpyxl.load_workbook(io.BytesIO(content)), tmp_path)) == {}
    totals = {row["What"]: row["Amount"] for row in table(site / "out" / "index.xlsx", "Totals")}
    assert totals["Drawings taken off"] == 4 and totals["Drawings refused"] == 1 and totals["Drawings given up"] == 0
    assert totals["Floors (m2)"] == pytest.approx(3 * sum(WIDTHS))


def test_one_worker_or_three_give_the_same_bytes_and_the_same_as_measure(site: Path) -> None:
    for workers in (1, 3):
        assert run(site, "--workers", workers, out=f"out{workers}").exit_code == 0
    first = contents(site / "out1")
    assert first == contents(site / "out3") and len(first) > 4 * len(WIDTHS)
    single = CliRunner().invoke(main, ["measure", str(site / "in" / "house 2.dxf"), "--out", str(site / "single")])
    assert single.exit_code == 0
    for path in (site / "single").iterdir():
        assert first[f"drawings/house-2/{path.name}"] == path.read_bytes(), path.name


def test_a_second_run_knows_all_and_a_change_costs_one_drawing(site: Path) -> None:
    run(site)
    before = contents(site / "out")
    assert "5 of 5 drawings, 5 known from before" in run(site).output
    assert contents(site / "out") == before
    (site / "in" / "house 2.toml").write_text("[heights]\ndefault = 2.7\n")
    assert "5 of 5 drawings, 4 known from before" in run(site).output
    changed = {name for name, content in contents(site / "out").items() if before[name] != content}
    assert changed and all(name.startswith("drawings/house-2/") or name == "index.xlsx" for name in changed)
    (site / "in" / "house 2.toml").unlink()
    assert "5 known from before" in run(site).output
    assert contents(site / "out") == before


def test_documents_that_are_gone_or_spoilt_in_the_store_come_again(site: Path) -> None:
    run(site)
    before = contents(site / "out")
    (site / "out" / "drawings" / "house-0" / "takeoff.json").unlink()
    assert "5 known from before" in run(site).output
    assert contents(site / "out") == before
    for pack in (site / "out" / ".kept").rglob("*.pack"):
        pack.write_bytes(pack.read_bytes()[:-7])
    (site / "out" / "drawings" / "house-0" / "takeoff.json").unlink()
    assert "4 known from before" in run(site).output
    assert contents(site / "out") == before


def test_again_tries_only_what_failed(site: Path) -> None:
    run(site)
    assert "5 of 5 drawings, 4 known from before, 1 without" in run(site, "--again").output


def test_limits_cost_one_drawing_and_are_told(site: Path) -> None:
    """60,000 texts as the library holds them: far past 100 MB."""
    drawing = ezdxf.new(units=4)
    for n in range(60_000):
        drawing.modelspace().add_mtext(f"{n}")
    drawing.saveas(site / "in" / "huge.dxf")
    result = run(site, "--megabytes", 100, "--workers", 1)
    assert result.exit_code == 0, result.output
    assert "4 of 6 drawings taken off" in result.output
    assert re.search("huge: given up: This (most likely )?needs more memory than 100 MB", result.output)
    assert "6 known from before" in run(site, "--megabytes", 100).output


def test_quote_and_only(site: Path) -> None:
    assert run(site, "--quote", "--only", "quotation", "--only", "json").exit_code == 0
    assert {p.name for p in (site / "out" / "drawings" / "house-0").iterdir()} == {
        "quotation.pdf", "quotation.docx", "takeoff.json",
    }  # fmt: skip
    assert json.loads((site / "out" / "drawings" / "house-0" / "takeoff.json").read_text())["price"]
    refused = run(site, "--only", "poem")
    assert refused.exit_code == 1 and "No document is called poem" in refused.output


def test_a_list_file_and_one_job_for_all(site: Path) -> None:
    (site / "some.txt").write_text("# two of them\nin/house 2.dxf\n\nin/deep   # and what is in here\n")
    (site / "all.toml").write_text("[heights]\ndefault = 2.5\n")
    words = ["folder", str(site / "some.txt"), "--out", str(site / "out"), "--job", str(site / "all.toml")]
    assert CliRunner().invoke(main, words).exit_code == 0
    rows = table(site / "out" / "index.xlsx", "Drawings")
    assert [row["Walls net (m2)"] for row in rows] == pytest.approx([2 * (w + 3) * 2.5 for w in (4, 6, 5)])
    (site / "all.toml").write_text("[heights]\ndefault = 'tall'\n")
    wrong = CliRunner().invoke(main, words)
    assert wrong.exit_code == 1 and "all.toml, line 2" in wrong.output


def test_a_wrong_job_file_beside_a_drawing_costs_that_drawing(site: Path) -> None:
    (site / "in" / "house 2.toml").write_text("[heights]\nhight = 2\n")
    result = run(site)
    assert "3 of 5 drawings" in result.output and "house 2.toml, line 2: heights.hight: no such key" in result.output


def test_nothing_to_do_is_one_sentence(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["folder", str(tmp_path)])
    assert result.exit_code == 1 and "No drawing (.dxf) was found" in result.output


def begun(site: Path, out: str = "out") -> subprocess.Popen[str]:
    words = [sys.executable, "-m", "takeoff", "folder", str(site / "in"), "--out", str(site / out), "--workers", "1"]
    return subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_an_index_of_very_many_comes_in_parts(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Five drawings, two to a workbook: three parts, whose rows together are those of the one index."""
    run(site)
    whole = table(site / "out" / "index.xlsx", "Drawings")
    monkeypatch.setattr("takeoff.bulk.run.ROWS", 2)
    result = run(site)
    parts = ["index.xlsx", "index-2.xlsx", "index-3.xlsx"]
    assert [line for line in result.output.splitlines() if line.startswith("Wrote")] == [
        f"Wrote {site / 'out' / name}" for name in parts
    ]
    rows = [row for name in parts for row in table(site / "out" / name, "Drawings") if row["Drawing"]]
    assert [(row["Drawing"], row["Floors (m2)"]) for row in rows] == [(r["Drawing"], r["Floors (m2)"]) for r in whole]
    assert "Part 3: drawings 5 to 5 of 5." in str(openpyxl.load_workbook(site / "out" / parts[2])["Totals"]["A2"].value)
    monkeypatch.undo()
    run(site)
    assert [path.name for path in (site / "out").glob("index*.xlsx")] == ["index.xlsx"]
    assert table(site / "out" / "index.xlsx", "Drawings") == whole


def test_a_killed_run_goes_on_where_it_stopped(site: Path) -> None:
    for number in range(12):
        one_room(site / "in" / f"more {number}.dxf", 3 + number / 10)
    process = begun(site)
    assert process.stderr is not None
    for line in process.stderr:
        if line.startswith("4 of"):
            break
    os.kill(process.pid, signal.SIGKILL)
    process.wait()
    last = run(site).output.strip().splitlines()
    known = next(line for line in reversed(last) if "known from before" in line)
    assert 4 <= int(known.split(", ")[1].split()[0]) < 17
    run(site, out="whole")
    assert contents(site / "out") == contents(site / "whole")


def test_two_runs_at_once_share_one_store(site: Path) -> None:
    for number in range(6):
        one_room(site / "in" / f"more {number}.dxf", 3 + number / 10)
    both = [begun(site), begun(site)]
    for process in both:
        output, errors = process.communicate(timeout=120)
        assert process.returncode == 0, errors
        assert "10 of 11 drawings taken off" in output
    run(site, out="whole")
    assert contents(site / "out") == contents(site / "whole")
    with sqlite3.connect(site / "out" / ".kept" / "index.sqlite") as index:
        assert index.execute("SELECT count(*) FROM outcomes").fetchone() == (11,)
        assert index.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_document_held_in_the_way_is_told(site: Path) -> None:
    (site / "out").write_text("in the way")
    result = run(site)
    assert result.exit_code == 1 and "Cannot" in result.output and "Traceback" not in result.output


def test_every_column_of_the_index_is_described(site: Path) -> None:
    run(site)
    described = named((DOCS / "many-drawings.md").read_text(encoding="utf-8"))
    for sheet in openpyxl.load_workbook(site / "out" / "index.xlsx").worksheets:
        headings = {str(cell.value) for cell in sheet[4] if cell.value}
        assert headings and headings - described == set(), sheet.title
