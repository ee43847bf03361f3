"""Who is let in, and who is not (RFC 9110 for statuses; the attacks are common practice, no source)."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from reedpath.studio.guard import Guard
from support.studios import ADDRESS, PORT, asked_studio


@pytest.fixture(scope="module")
def studio(tmp_path_factory):
    """A studio that has let this client in."""
    with asked_studio(tmp_path_factory.mktemp("guard") / "shelf.sqlite") as asked:
        yield asked


@pytest.fixture
def stranger(studio):
    """Somebody who asks the same studio, and was not let in."""
    return TestClient(studio.guard, base_url=ADDRESS, raise_server_exceptions=False)


def test_who_has_the_cookie_sees_the_shelf(studio) -> None:
    answer = studio.client.get("/")
    assert answer.status_code == 200
    assert "Shelf" in answer.text
    assert "script-src 'self'" in answer.headers["content-security-policy"]


def test_nobody_without_the_cookie_gets_in(stranger) -> None:
    for path in ("/", "/work", "/export.zip", "/static/studio.css"):
        assert stranger.get(path).status_code == 401
    assert stranger.put("/uploads?name=a", headers={"origin": ADDRESS}, content=b"x").status_code == 401


@pytest.mark.parametrize("host", ["evil.example", f"evil.example:{PORT}", "127.0.0.1", f"127.0.0.1:{PORT + 1}", ""])
def test_another_host_is_refused_though_the_cookie_is_right(studio, host) -> None:
    assert studio.client.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize(
    "origin", ["http://evil.example", f"https://127.0.0.1:{PORT}", "null", f"http://localhost:{PORT}"]
)
def test_another_origin_is_refused(studio, origin) -> None:
    assert studio.client.post("/undo", headers={"origin": origin}).status_code == 403
    assert studio.client.get("/", headers={"origin": origin}).status_code == 403


def test_what_changes_something_must_say_where_it_comes_from(studio) -> None:
    assert studio.client.post("/undo").status_code == 403
    assert studio.client.delete("/uploads/1").status_code == 403


@pytest.mark.parametrize("headers", [{}, {"origin": "http://evil.example"}])
def test_a_socket_of_another_page_is_refused_before_it_is_accepted(studio, headers) -> None:
    with pytest.raises(WebSocketDisconnect) as refused, studio.client.websocket_connect("/progress", headers=headers):
        pass
    assert refused.value.code == 1008


def test_a_socket_without_the_cookie_is_refused(stranger) -> None:
    with (
        pytest.raises(WebSocketDisconnect),
        stranger.websocket_connect("/progress", headers={"origin": ADDRESS, "host": f"127.0.0.1:{PORT}"}),
    ):
        pass


def test_a_socket_of_our_own_page_is_told_the_jobs(studio) -> None:
    headers = {"origin": ADDRESS, "host": f"127.0.0.1:{PORT}"}
    with studio.client.websocket_connect(f"ws://127.0.0.1:{PORT}/progress", headers=headers) as socket:
        assert socket.receive_json() == []


def test_a_token_lets_one_browser_in_and_no_second(studio, stranger) -> None:
    token = studio.guard.new_token()
    other = "y" if token[-1] == "x" else "x"
    assert stranger.get(f"/?token={token[:-1]}{other}").status_code == 401
    let_in = stranger.get(f"/?token={token}")
    assert let_in.status_code == 200
    cookie = let_in.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert stranger.get("/").status_code == 200
    second = TestClient(studio.guard, base_url=ADDRESS)
    assert second.get(f"/?token={token}").status_code == 401


def test_a_cookie_that_is_none_is_no_fault(stranger) -> None:
    for cookie in ("x", "=;=", "\x01=2", "reedpath-studio-52799=wrong", "a" * 5000):
        assert stranger.get("/", headers={"cookie": cookie}).status_code == 401


def test_two_studios_have_cookies_of_two_names() -> None:
    assert Guard(None, port=1).cookie != Guard(None, port=2).cookie  # type: ignore[arg-type]
