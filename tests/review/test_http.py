"""The page's side of the server: what it asks, what it gets, what is refused."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from takeoff.review.session import Session

HEIGHT = {"op": "set", "key": ["rooms", "R1", "height"], "value": 2.71}


def send(page: TestClient, *changes: dict[str, Any], base: int | None = None) -> Any:
    base = page.get("/api/state").json()["version"] if base is None else base
    return page.post("/api/change", json={"base": base, "label": "edit", "changes": list(changes)})


def test_a_change_is_on_disk_before_it_is_answered_and_figures_follow(page: TestClient, folder: Path) -> None:
    before = page.get("/api/room/R1").json()
    answer = send(page, HEIGHT)
    assert answer.status_code == 200 and answer.json()["version"] == 2
    assert "height = 2.71" in (folder / "upstairs_flat.toml").read_text()
    after, rooms = page.get("/api/room/R1").json(), page.get("/api/rooms").json()
    assert rooms["version"] == 2
    assert next(r for r in rooms["rooms"] if r["ref"] == "R1")["height_m"] == 2.71
    for part in ("hours", "price"):
        assert after[part] != before[part]
    walls = {s["ref"]: s for s in before["surfaces"] if s["kind"] == "wall"}
    for surface in after["surfaces"]:
        if surface["ref"] in walls:
            assert surface["gross_m2"] == pytest.approx(surface["length_m"] * 2.71, abs=2e-3)


def test_refusals_are_one_sentence_and_leave_the_file(page: TestClient, folder: Path) -> None:
    text = (folder / "upstairs_flat.toml").read_bytes()
    stale = send(page, HEIGHT, base=0)
    assert stale.status_code == 409 and stale.json()["version"] == 1
    wrong = send(page, {"op": "set", "key": ["rooms", "R1", "height"], "value": "tall"})
    assert wrong.status_code == 422 and "rooms.R1.height" in wrong.json()["fault"]
    assert str(folder) not in wrong.json()["fault"]
    assert (folder / "upstairs_flat.toml").read_bytes() == text


@pytest.mark.parametrize(
    ("sent", "status"),
    [
        (b"", 400),
        (b"{", 400),
        (b"[]", 400),
        (b'{"base": "1", "label": "x", "changes": []}', 400),
        (b'{"base": 1, "label": "x", "changes": [3]}', 400),
        (b'{"base": 1, "label": "x", "changes": [], "path": "/etc"}', 400),
        (b"[" * 100_000, 400),
        (b"\xff\xfe", 400),
        (b" " * (2 << 20), 413),
    ],
)
def test_what_is_no_change_is_refused(page: TestClient, sent: bytes, status: int) -> None:
    answer = page.post("/api/change", content=sent, headers={"Content-Type": "application/json"})
    assert answer.status_code == status
    assert set(answer.json()) == {"fault"}


def test_a_form_of_another_page_cannot_be_a_change(page: TestClient) -> None:
    """Forms send text/plain, which browsers let other pages send without asking; JSON they do not."""
    sent = b'{"base": 1, "label": "x", "changes": []}'
    assert page.post("/api/change", content=sent, headers={"Content-Type": "text/plain"}).status_code == 415


@pytest.mark.parametrize("path", ["/api/nothing", "/api/room/R99", "/api/room/..%2f..%2fetc", "/static/x", "/other"])
def test_what_is_not_there(page: TestClient, path: str) -> None:
    answer = page.get(path)
    assert answer.status_code == 404 and "fault" in answer.json()


def test_undo_and_redo(page: TestClient) -> None:
    send(page, HEIGHT)
    assert page.get("/api/state").json()["undo"] == "edit"
    assert page.post("/api/undo", json={"base": 2}).json() == {"version": 3}
    state = page.get("/api/state").json()
    assert (state["undo"], state["redo"]) == (None, "edit")
    assert page.post("/api/undo", json={"base": 3}).status_code == 422
    assert page.post("/api/redo", json={"base": 3}).json() == {"version": 4}
    assert page.post("/api/redo", json={"base": 1}).status_code == 409


def test_a_second_tab_hears_of_the_firsts_change_at_once(page: TestClient) -> None:
    mark = page.get("/api/state").json()["mark"]
    heard: list[tuple[float, Any]] = []

    def second_tab() -> None:
        start = time.monotonic()
        state = page.get("/api/state", params={"after": mark}).json()
        heard.append((time.monotonic() - start, state))

    waiting = threading.Thread(target=second_tab)
    waiting.start()
    time.sleep(0.3)
    assert not heard
    send(page, HEIGHT, base=1)
    waiting.join(10)
    waited, state = heard[0]
    assert waited >= 0.25 and state["version"] == 2 and state["mark"] != mark


def test_a_second_tab_hears_of_an_edit_by_hand(page: TestClient, folder: Path) -> None:
    mark = page.get("/api/state").json()["mark"]
    job_file = folder / "upstairs_flat.toml"
    threading.Timer(0.2, lambda: job_file.write_text(job_file.read_text() + "\n# by hand\n")).start()
    state = page.get("/api/state", params={"after": mark}).json()
    assert state["version"] == 2 and state["job"]["text"].endswith("# by hand\n")


def test_waiting_ends_when_the_program_ends(page: TestClient, session: Session) -> None:
    mark = page.get("/api/state").json()["mark"]
    threading.Timer(0.2, session.end).start()
    start = time.monotonic()
    page.get("/api/state", params={"after": mark})
    assert time.monotonic() - start < 5


def test_the_plan_is_sent_once(page: TestClient) -> None:
    plan = page.get("/api/plan").json()
    again = page.get("/api/plan", params={"have": plan["plan_mark"]}).json()
    assert again == {"plan_mark": plan["plan_mark"]}
    send(page, HEIGHT)
    assert page.get("/api/plan", params={"have": plan["plan_mark"]}).json() == again


def test_before_there_is_a_drawing(tmp_path: Path, page_of: Callable[[Session], TestClient]) -> None:
    page = page_of(Session(tmp_path))
    state = page.get("/api/state").json()
    assert (state["version"], state["has_drawing"], state["fault"]) == (0, False, None)
    for path in ("plan", "rooms", "totals", "choices", "room/R1"):
        assert page.get(f"/api/{path}").status_code == 503
    assert page.post("/api/undo", json={"base": 0}).status_code == 422


def test_names_from_the_drawing_come_as_data(page: TestClient) -> None:
    """Nothing is put together as HTML here: a name with marks comes back as the very same text in JSON."""
    name = "<img src=x onerror=alert(1)> & 'quoted'"
    send(page, {"op": "set", "key": ["rooms", "R1", "name"], "value": name})
    answer = page.get("/api/rooms")
    assert answer.headers["content-type"] == "application/json"
    assert name in {room["name"] for room in answer.json()["rooms"]}


def test_a_fault_of_the_program_is_told_without_its_insides(page: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("takeoff.review.app.totals", lambda takeoff: 1 / 0)
    answer = page.get("/api/totals")
    assert answer.status_code == 500
    assert "ZeroDivision" not in answer.text and "Traceback" not in answer.text
    assert "content-security-policy" in answer.headers


def test_totals_are_the_sum_of_the_rooms(page: TestClient) -> None:
    rooms, whole = page.get("/api/rooms").json()["rooms"], page.get("/api/totals").json()
    assert whole["rough"] is True
    prices = [Decimal(room["price"]) for room in rooms if room["price"] is not None]
    assert sum(prices) == Decimal(whole["price"]["net"])
    assert sum(room["hours"] or 0 for room in rooms) == pytest.approx(whole["hours"]["likely"], abs=1e-3)
    assert sum(row["hours"] for row in whole["hours"]["by_task"]) == pytest.approx(whole["hours"]["likely"], abs=1e-2)
    details = [page.get(f"/api/room/{room['ref']}").json() for room in rooms]
    for kind, name in (("wall", "walls_m2"), ("ceiling", "ceilings_m2"), ("reveal", "reveals_m2")):
        area = sum(
            s["net_m2"] for d in details for s in d["surfaces"] if s["kind"] in (kind, "pier" if kind == "wall" else "")
        )
        assert area == pytest.approx(whole["areas"][name], abs=0.01)
    assert whole["cautions"]


def test_a_rooms_price_adds_up_to_the_penny(page: TestClient) -> None:
    for room in page.get("/api/rooms").json()["rooms"]:
        price = page.get(f"/api/room/{room['ref']}").json()["price"]
        if price:
            assert sum(Decimal(line["amount"] or 0) for line in price["lines"]) == Decimal(price["total"])
            assert price["total"] == room["price"]


def test_every_figure_of_a_room_tells_how_it_came_about(page: TestClient) -> None:
    """With drawn things that exist in the drawing, for everything that was measured on it."""
    drawn = {entity["handle"] for entity in page.get("/api/plan").json()["entities"]}
    detail = page.get("/api/room/R1").json()
    for part in ("surfaces", "edges", "quantities", "materials", "hours"):
        assert detail[part], part
        for row in detail[part]:
            assert row["how"] and row["sources"], (part, row)
            handles = {handle for source in row["sources"] for handle in source["handles"]}
            assert handles <= drawn
            if part == "surfaces" and row["kind"] != "ceiling":
                assert handles, row["ref"]
    assert all(line["how"] for line in detail["price"]["lines"])
    assert all(choice["slug"] for choice in page.get("/api/choices").json()["build_ups"])


def test_every_answer_that_is_offered_settles_its_question(page: TestClient) -> None:
    """As it is offered, with the figure that is proposed where one is asked for."""
    queries = page.get("/api/rooms").json()["queries"]
    assert queries and all(query["answers"] for query in queries)
    for query in queries:
        for answer in query["answers"]:
            assert send(page, *answer["changes"]).status_code == 200, (query["kind"], answer)
            still = page.get("/api/rooms").json()["queries"]
            assert (query["kind"], query["about"]) not in [(q["kind"], q["about"]) for q in still], answer
            page.post("/api/undo", json={"base": page.get("/api/state").json()["version"]})
    assert page.get("/api/rooms").json()["queries"] == queries
