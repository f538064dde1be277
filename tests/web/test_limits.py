"""Whoever holds connections open, sends or reads slowly, or sends what is no HTTP, does not keep others from the pages.

The attacks are those known as slow headers, slow body and slow reading (common practice of testing web servers, from
memory), against a server on this machine, with the deadlines shortened.
"""

from __future__ import annotations

import logging
import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack
from threading import Thread

import pytest
import uvicorn
from starlette.types import Message, Receive, Scope, Send

from kinphoto.web import limits

HELLO = b"GET / HTTP/1.1\r\nHost: here\r\n\r\n"
HALF = b"GET / HTTP/1.1\r\nHost: here\r\nX-"
LARGE = 32 * 1024**2


class Server:
    """A server with a page that answers at once, one that reads a body, and a large one; what the app met is noted."""

    def __init__(self, most: int) -> None:
        self.met: list[str] = []
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.port = self.socket.getsockname()[1]
        config = uvicorn.Config(
            self.app, http=limits.protocol(most), ws="none", interface="asgi3", lifespan="off", log_level="warning",
            access_log=False, timeout_graceful_shutdown=1,
        )  # fmt: skip
        limits.quieten()
        self.server = uvicorn.Server(config)
        self.thread = Thread(target=self.server.run, kwargs={"sockets": [self.socket]}, daemon=True)
        self.thread.start()

    async def app(self, scope: Scope, receive: Receive, send: Send) -> None:
        """The pages."""
        body, more = b"", scope["method"] == "POST"
        while more:
            message: Message = await receive()
            if message["type"] == "http.disconnect":
                self.met.append("gone")
                return
            body, more = body + message["body"], message["more_body"]
        answer = b"x" * LARGE if scope["path"] == "/large" else b"hello " + body
        length = (b"content-length", str(len(answer)).encode())
        await send({"type": "http.response.start", "status": 200, "headers": [length]})
        await send({"type": "http.response.body", "body": answer})

    def connect(self, sent: bytes = b"", host: str = "127.0.0.1") -> socket.socket:
        """A connection from an address of this machine, with something sent on it."""
        made = socket.create_connection(("127.0.0.1", self.port), timeout=10, source_address=(host, 0))
        if sent:
            made.sendall(sent)
        return made

    def close(self) -> None:
        """Stop it."""
        self.server.should_exit = True
        self.thread.join(10)
        self.socket.close()


def said(connection: socket.socket) -> bytes:
    """Everything that comes until the other side ends the connection."""
    found = b""
    try:
        while piece := connection.recv(65536):
            found += piece
    except ConnectionError:
        pass
    return found


def answered(connection: socket.socket) -> bool:
    """Whether a page comes."""
    try:
        return connection.recv(65536).startswith(b"HTTP/1.1 200")
    except ConnectionError:
        return False


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch) -> Iterator[Server]:
    """A server for ten connections, four of one address."""
    monkeypatch.setattr(limits, "MOST_OF_ONE", 4)
    monkeypatch.setattr(limits, "LOOK", 0.02)
    monkeypatch.setattr(limits, "HEAD_WITHIN", 60.0)
    made = Server(10)
    yield made
    made.close()


def test_many_half_open_connections_keep_nobody_out(server: Server) -> None:
    """Of one address the newest stay; whoever comes now is answered, at that address and at others."""
    with ExitStack() as stack:
        held = [stack.enter_context(server.connect(HALF)) for _ in range(40)]
        for host in ("127.0.0.1", "127.0.0.2"):
            assert answered(stack.enter_context(server.connect(HELLO, host)))
        assert [said(one) for one in held[:36]] == [b""] * 36


def test_many_addresses_together_keep_nobody_out(server: Server) -> None:
    """When all connections are taken, the address with most of them makes room."""
    with ExitStack() as stack:
        polite = stack.enter_context(server.connect(HALF, "127.0.0.9"))
        for host in ("127.0.0.2", "127.0.0.3", "127.0.0.4"):
            for _ in range(8):
                stack.enter_context(server.connect(HALF, host))
        assert answered(stack.enter_context(server.connect(HELLO, "127.0.0.8")))
        polite.sendall(b"a: 1\r\n\r\n")
        assert answered(polite)


def test_whoever_is_being_answered_is_not_sent_away(server: Server) -> None:
    """Four bodies of one address are on their way: a fifth connection of it is refused, and they are finished."""
    post = b"POST / HTTP/1.1\r\nHost: here\r\nContent-Length: 2\r\n\r\na"
    with ExitStack() as stack:
        busy = [stack.enter_context(server.connect(post)) for _ in range(4)]
        for one in busy:  # each is being read as soon as the one before it was taken
            one.settimeout(0.2)
            with pytest.raises(TimeoutError):
                one.recv(1)
            one.settimeout(10)
        assert not answered(stack.enter_context(server.connect(HELLO)))
        for one in busy:
            one.sendall(b"b")
            assert answered(one)


@pytest.mark.parametrize("sent", [b"", HALF, HELLO + HALF])
def test_a_request_has_to_be_whole_in_time(server: Server, monkeypatch: pytest.MonkeyPatch, sent: bytes) -> None:
    """Letter by letter does not help: the connection is ended, also after a first request that was whole."""
    monkeypatch.setattr(limits, "HEAD_WITHIN", 0.3)
    with server.connect(sent) as slow:
        slow.settimeout(0.05)
        found = b""
        with pytest.raises(ConnectionError):  # noqa: PT012
            for _ in range(400):
                try:
                    piece = slow.recv(65536)
                    if not piece:
                        raise ConnectionResetError
                    found += piece
                except TimeoutError:
                    if sent:
                        slow.sendall(b"x")
        assert found.count(b"HTTP/1.1 200") == (HELLO in sent)


def test_a_body_that_stops_coming_is_given_up(server: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page that reads it learns that no more comes."""
    monkeypatch.setattr(limits, "STALLED", 0.2)
    with server.connect(b"POST / HTTP/1.1\r\nHost: here\r\nContent-Length: 99\r\n\r\nabc") as slow:
        assert said(slow) == b""
    for _ in range(1000):  # the page learns it a moment after the connection is closed
        if server.met:
            break
        time.sleep(0.01)
    assert server.met == ["gone"]


def test_an_answer_that_is_not_read_is_given_up(server: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who asks for a large picture and reads nothing does not hold it in memory for ever."""
    monkeypatch.setattr(limits, "STALLED", 0.2)
    with server.connect(b"GET /large HTTP/1.1\r\nHost: here\r\n\r\n") as slow:
        slow.recv(1)  # it is being answered
        for _ in range(200):
            if not server.server.server_state.connections:
                break
            with server.connect() as other:  # time passes
                other.settimeout(0.05)
                with pytest.raises(TimeoutError):
                    other.recv(1)
        assert len(said(slow)) < LARGE


@pytest.mark.parametrize(
    "sent",
    [
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
        b"GET / HTTP/1.1\r\nHost: here\r\nContent-Length: x\r\n\r\n",
        b"POST / HTTP/1.1\r\nHost: here\r\nTransfer-Encoding: chunked\r\n\r\n3\r\nabc\r\nzz\r\n",
        b"POST / HTTP/1.1\r\nHost: here\r\nTransfer-Encoding: chunked\r\n\r\n-1\r\n",
        HELLO + b"\0\0\0\0\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: here\r\nConnection: upgrade\r\nUpgrade: websocket\r\n\r\n\0\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: here\r\nContent-Length: 9\r\n\r\nabc" + HELLO,
    ],
)
def test_what_is_no_http_writes_a_line_at_most(server: Server, caplog: pytest.LogCaptureFixture, sent: bytes) -> None:
    """A hundred times over: no traceback, one line of a kind, and whoever comes next is answered."""
    for _ in range(100):
        with server.connect(sent) as one:
            one.shutdown(socket.SHUT_WR)
            said(one)
    with server.connect(HELLO) as other:
        assert answered(other)
    assert not [record for record in caplog.records if record.exc_info]
    kinds = [record.msg for record in caplog.records]
    assert len(kinds) == len(set(kinds))


# The log ---------------------------------------------------------------------------------------------------------


def record(words: str, problem: Exception | None = None) -> logging.LogRecord:
    """A line of the log."""
    info = None if problem is None else (type(problem), problem, problem.__traceback__)
    return logging.LogRecord("x", logging.WARNING, "here", 1, words, (), info)


def test_one_line_of_each_kind_in_a_minute() -> None:
    """Others of the kind are counted and told with the next; another kind is written at once."""
    now = [0.0]
    spare = limits.OncePerMinute(lambda: now[0])
    assert [spare.filter(record("broken")) for _ in range(5)] == [True, False, False, False, False]
    assert spare.filter(record("another"))
    now[0] = 61.0
    told = record("broken")
    assert spare.filter(told)
    assert told.getMessage() == "broken (and 4 more like it that were not written)"


def test_faults_at_different_places_are_all_written() -> None:
    """A flood of one fault does not hide another."""

    def fault(number: int) -> Exception:
        try:
            if number:
                raise ValueError(number)
            raise ValueError(number)
        except ValueError as problem:
            return problem

    spare = limits.OncePerMinute(lambda: 0.0)
    assert [spare.filter(record("fault", fault(n))) for n in (0, 0, 1, 2)] == [True, False, True, False]


def test_room_is_made_for_files_beside_the_connections(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where few files may be open, more are asked for; where that is refused, fewer connections are taken."""
    import resource

    given = {"soft": 256, "hard": 100_000}
    monkeypatch.setattr(resource, "getrlimit", lambda _: (given["soft"], given["hard"]))
    monkeypatch.setattr(resource, "setrlimit", lambda _, pair: given.update(soft=pair[0]))
    assert limits.room_for(256) == 256
    assert given["soft"] == 256 + limits.FILES_BESIDE
    given.update(soft=256, hard=256)
    assert 8 <= limits.room_for(256) < 128
