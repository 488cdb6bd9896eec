"""Who is let in. Source of the rules: OWASP cheat sheets "Cross-Site Request Forgery Prevention" (verify origin, token)
and "Content Security Policy"; W3C "Content Security Policy Level 3"; from memory, not looked up."""

from __future__ import annotations

import pytest
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.testclient import TestClient
from starlette.types import Receive, Scope, Send

from takeoff.review.guard import Guard, new_key

KEY, PORT = "the-key-of-this-run", 8123


async def echo(scope: Scope, receive: Receive, send: Send) -> None:
    if scope["path"] == "/api/burst":
        raise RuntimeError("burst")
    await PlainTextResponse("let in " + Request(scope).url.path)(scope, receive, send)


def client(host: str = f"127.0.0.1:{PORT}") -> TestClient:
    return TestClient(Guard(echo, KEY, PORT), base_url=f"http://{host}")


@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", f"localhost:{PORT}"])
def test_its_own_names_are_let_in(host: str) -> None:
    assert client(host).get("/api/state", headers={"X-Takeoff-Key": KEY}).text == "let in /api/state"
    assert client(host).get("/").text == "let in /"


@pytest.mark.parametrize(
    "host",
    [
        "rebound.example",
        f"rebound.example:{PORT}",
        "127.0.0.1",
        "localhost:80",
        f"127.0.0.1.example:{PORT}",
        f"[::1]:{PORT}",
    ],
)
def test_a_foreign_name_that_points_here_is_refused(host: str) -> None:
    """DNS rebinding: the browser sends the foreign name, whatever address it stands for."""
    answer = client(host).get("/api/state", headers={"X-Takeoff-Key": KEY})
    assert answer.status_code == 403
    assert client(host).get("/").status_code == 403


def test_two_hosts_are_refused() -> None:
    answer = client().get("/", headers=[("Host", f"127.0.0.1:{PORT}"), ("Host", "rebound.example")])
    assert answer.status_code == 403


@pytest.mark.parametrize("method", ["GET", "POST"])
@pytest.mark.parametrize(
    "origin",
    ["http://elsewhere.example", "null", f"https://127.0.0.1:{PORT}", "http://127.0.0.1", "http://127.0.0.1:9"],
)
def test_another_page_is_refused(method: str, origin: str) -> None:
    answer = client().request(method, "/api/change", headers={"X-Takeoff-Key": KEY, "Origin": origin})
    assert answer.status_code == 403
    assert client().request(method, "/", headers={"Origin": origin}).status_code == 403


def test_its_own_page_is_let_in() -> None:
    headers = {"X-Takeoff-Key": KEY, "Origin": f"http://127.0.0.1:{PORT}"}
    assert client().post("/api/change", headers=headers).status_code == 200


@pytest.mark.parametrize("key", ["", "the-key-of-this-ru", "the-key-of-this-run1", "THE-KEY-OF-THIS-RUN", "é" * 20])
def test_a_wrong_key_is_refused(key: str) -> None:
    answer = client().get("/api/state", headers=[("X-Takeoff-Key", key.encode("latin-1"))])
    assert answer.status_code == 401
    assert "key" in answer.json()["fault"]


def test_no_key_or_two_keys_are_refused() -> None:
    assert client().get("/api/state").status_code == 401
    assert client().get("/api/state", headers=[("X-Takeoff-Key", KEY), ("X-Takeoff-Key", KEY)]).status_code == 401


def test_the_key_is_not_taken_from_the_address() -> None:
    assert client().get(f"/api/state?key={KEY}").status_code == 401


def test_each_run_has_its_own_long_key() -> None:
    keys = {new_key() for _ in range(50)}
    assert len(keys) == 50
    assert min(map(len, keys)) >= 43  # 256 bits, 6 to a letter


@pytest.mark.parametrize("path", ["/", "/api/state", "/static/x.js"])
@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", "rebound.example"])
def test_every_answer_carries_the_rules(path: str, host: str) -> None:
    headers = client(host).get(path).headers
    policy = dict(part.split(" ", 1) for part in headers["content-security-policy"].split("; "))
    assert policy == {
        "default-src": "'none'",
        "script-src": "'self'",
        "style-src": "'self'",
        "img-src": "'self' data: blob:",
        "connect-src": "'self'",
        "font-src": "'self'",
        "base-uri": "'none'",
        "form-action": "'none'",
        "frame-ancestors": "'none'",
    }
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cross-origin-opener-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert headers["cache-control"] == "no-store"
    assert "access-control-allow-origin" not in headers
