"""Hostile clients of the studio, over real sockets: what they send is answered or dropped, and the page stays there.

The attacks are common practice in tests of servers, no source; statuses are those of RFC 9110.
"""

from __future__ import annotations

import http.client
import select
import socket
from collections.abc import Iterator
from contextlib import ExitStack

import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect

from support.studios import ServedStudio, served_studio


@pytest.fixture(scope="module")
def studio(tmp_path_factory) -> Iterator[ServedStudio]:
    with served_studio(tmp_path_factory.mktemp("hostile") / "shelf.sqlite") as served:
        yield served


@pytest.fixture(scope="module")
def cookie(studio: ServedStudio) -> str:
    """The cookie of who was let in."""
    answer = asked(studio, "GET", studio.way_in().removeprefix(studio.address))
    assert answer.status == 200
    return answer.headers["set-cookie"].partition(";")[0]


def asked(studio: ServedStudio, method: str, path: str, body: bytes | None = None, **headers: str):
    """An answer to a request; its body is read."""
    host = studio.address.removeprefix("http://")
    line = http.client.HTTPConnection(host, timeout=60)
    line.request(method, path, body=body, headers={name.replace("_", "-"): value for name, value in headers.items()})
    answer = line.getresponse()
    answer.read()
    line.close()
    return answer


def raw(studio: ServedStudio, *pieces: bytes, read: bool = True) -> bytes:
    """What comes back on a plain socket that these bytes are sent on."""
    host, _, port = studio.address.removeprefix("http://").partition(":")
    with socket.create_connection((host, int(port)), timeout=60) as line:
        for piece in pieces:
            line.sendall(piece)
        return line.recv(65536) if read else b""


def head(studio: ServedStudio, cookie: str, line: str, *more: str) -> bytes:
    """The head of a request of a page of ours."""
    host = studio.address.removeprefix("http://")
    lines = [line, f"Host: {host}", f"Origin: {studio.address}", f"Cookie: {cookie}", *more, "", ""]
    return "\r\n".join(lines).encode()


def still_there(studio: ServedStudio, cookie: str) -> bool:
    """Whether the shelf's page is still answered."""
    return asked(studio, "GET", "/", cookie=cookie).status == 200


def test_it_listens_on_the_loopback_address_alone(studio: ServedStudio) -> None:
    port = int(studio.address.rpartition(":")[2])
    others = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)} - {"127.0.0.1"}
    for address in others | {"127.0.0.2"}:
        with pytest.raises(OSError), socket.create_connection((address, port), timeout=5):  # noqa: PT011
            pass


def test_five_gigabytes_that_are_only_said_cost_nothing(studio: ServedStudio, cookie: str) -> None:
    begun = head(studio, cookie, "PUT /uploads?name=film.mp4 HTTP/1.1", f"Content-Length: {20 << 30}")
    assert raw(studio, begun, b"x" * 1000).startswith(b"HTTP/1.1 413")
    assert still_there(studio, cookie)


def test_a_body_that_stops_half_way_holds_up_nobody(studio: ServedStudio, cookie: str) -> None:
    begun = head(studio, cookie, "PUT /uploads?name=film.mp4 HTTP/1.1", "Content-Length: 1000")
    host, _, port = studio.address.removeprefix("http://").partition(":")
    with socket.create_connection((host, int(port))) as slow:
        slow.sendall(begun + b"half")
        assert still_there(studio, cookie)
        assert asked(studio, "POST", "/undo", b"", cookie=cookie, origin=studio.address).status == 303
    assert still_there(studio, cookie)


def test_many_slow_uploads_are_told_that_they_are_too_many(studio: ServedStudio, cookie: str) -> None:
    begun = head(studio, cookie, "PUT /uploads?name=a.wav HTTP/1.1", "Content-Length: 1000")
    host, _, port = studio.address.removeprefix("http://").partition(":")
    lines = [socket.create_connection((host, int(port))) for _ in range(12)]
    try:
        for line in lines:
            line.sendall(begun + b"x")
        answered, _, _ = select.select(lines, [], [], 60)
        assert answered[0].recv(100).startswith(b"HTTP/1.1 503")
        assert still_there(studio, cookie)
    finally:
        for line in lines:
            line.close()


def test_a_length_that_is_none_or_a_body_in_chunks_is_refused(studio: ServedStudio, cookie: str) -> None:
    chunked = (
        head(studio, cookie, "PUT /uploads?name=a HTTP/1.1", "Transfer-Encoding: chunked")
        + b"5\r\nhello\r\n0\r\n\r\n"
    )
    assert raw(studio, chunked).startswith(b"HTTP/1.1 411")
    for said in ("-5", "many", "5, 6", "9" * 40):
        answer = raw(studio, head(studio, cookie, "PUT /uploads?name=a HTTP/1.1", f"Content-Length: {said}"))
        assert answer.startswith((b"HTTP/1.1 400", b"HTTP/1.1 411", b"HTTP/1.1 413"))
    assert still_there(studio, cookie)


@pytest.mark.parametrize(
    "sent",
    [
        b"\x00" * 5000,
        b"GET / HTTP/9.9\r\n\r\n",
        b"GET " + b"/a" * 100_000 + b" HTTP/1.1\r\n\r\n",
        b"\x16\x03\x01\x02\x00",
        b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
    ],
    ids=["noughts", "version", "long address", "TLS", "HTTP/2"],
)
def test_what_is_no_request_is_dropped(studio: ServedStudio, cookie: str, sent: bytes) -> None:
    answer = raw(studio, sent)
    assert answer == b"" or answer.split()[1] in (b"400", b"414", b"421", b"431")
    assert still_there(studio, cookie)


def test_a_foreign_name_for_this_machine_is_refused(studio: ServedStudio, cookie: str) -> None:
    assert asked(studio, "GET", "/", host="studio.example:80", cookie=cookie).status == 421


def test_two_host_lines_are_refused(studio: ServedStudio, cookie: str) -> None:
    host = studio.address.removeprefix("http://")
    answer = raw(studio, f"GET / HTTP/1.1\r\nHost: {host}\r\nHost: evil.example\r\nCookie: {cookie}\r\n\r\n".encode())
    assert answer.split()[1] in (b"400", b"421")


def test_sockets_of_other_pages_and_of_strangers_are_refused(studio: ServedStudio, cookie: str) -> None:
    address = studio.address.replace("http", "ws") + "/progress"
    wrong = [
        {"origin": "http://evil.example", "additional_headers": {"Cookie": cookie}},
        {"additional_headers": {"Cookie": cookie}},
        {"origin": studio.address},
    ]
    for said in wrong:
        with pytest.raises(InvalidStatus) as refused, connect(address, **said):
            pass
        assert refused.value.response.status_code == 403


def test_a_flood_of_messages_and_one_that_is_too_large_close_the_socket_or_change_nothing(
    studio: ServedStudio, cookie: str
) -> None:
    address = studio.address.replace("http", "ws") + "/progress"
    said = {"origin": studio.address, "additional_headers": {"Cookie": cookie}}
    with connect(address, **said) as line:
        for _ in range(5000):
            line.send("x")
        assert still_there(studio, cookie)
    with pytest.raises(ConnectionClosed), connect(address, **said) as line:  # noqa: PT012
        line.recv()
        line.send("x" * 3_000_000)
        while True:
            line.recv()
    assert still_there(studio, cookie)


def test_forty_sockets_at_once_are_all_told(studio: ServedStudio, cookie: str) -> None:
    address = studio.address.replace("http", "ws") + "/progress"
    said = {"origin": studio.address, "additional_headers": {"Cookie": cookie}}
    with ExitStack() as open_lines:
        lines = [open_lines.enter_context(connect(address, **said)) for _ in range(40)]
        assert [line.recv() for line in lines] == ["[]"] * 40
    assert still_there(studio, cookie)
