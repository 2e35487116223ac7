"""The server: cheroot, in this process, until it is told to stop."""

import errno
import os
import signal
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

from cheroot.wsgi import Server
from flask import Flask

from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say

THREADS = 8
WAITING = 128  # connections that may wait for a thread: a hall that scans at the same moment
LOOK_UP = 0.5  # seconds: on Windows a wait without end would not see Ctrl-C


def serve(
    app: Flask, host: str, port: int, ready: Callable[[int], None] = lambda _port: None
) -> None:
    """Serves until SIGINT or SIGTERM, finishes what is under way, and returns.

    ready: called with the port once phones can connect (port 0 takes any that is free).
    PanelError (fault PLACE) if host and port cannot be had.
    """
    server = Server((host, port), app, numthreads=THREADS, request_queue_size=WAITING)
    server.error_log = _log_to(app)  # type: ignore[method-assign]
    try:
        bind_once(host, port)
        server.prepare()
    except (OSError, UnicodeError) as failure:  # the second: a host that is no name at all
        raise PanelError("port", _why(failure, host, port), Fault.PLACE) from failure
    stop = threading.Event()
    serving = threading.Thread(target=_serving, args=(server, stop), name="serving")
    with _told_to_stop(stop):
        serving.start()
        ready(server.bind_addr[1])
        while not stop.wait(LOOK_UP):
            pass
        server.stop()
        serving.join()


def bind_once(host: str, port: int) -> None:
    """OSError with its plain reason if host and port cannot be had; the server blurs it."""
    places = socket.getaddrinfo(
        host or None, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
    )
    family, kind, protocol, _name, place = places[0]
    with socket.socket(family, kind, protocol) as tried:
        if os.name != "nt":  # there it would let two programs share a port
            tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        tried.bind(place)


def _serving(server: Server, stop: threading.Event) -> None:
    try:
        server.serve()
    finally:
        stop.set()


@contextmanager
def _told_to_stop(stop: threading.Event) -> Iterator[None]:
    """SIGINT and SIGTERM set the event; what they did before comes back at the end."""

    def told(_number: int, _frame: FrameType | None) -> None:
        stop.set()

    if threading.current_thread() is not threading.main_thread():
        yield  # only the main thread hears signals: whoever serves elsewhere stops otherwise
        return
    before = {number: signal.signal(number, told) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _log_to(app: Flask) -> Callable[..., None]:
    def log(msg: str = "", level: int = 20, traceback: bool = False) -> None:
        app.logger.log(level, "%s", msg, exc_info=traceback)

    return log


def _why(failure: OSError | UnicodeError, host: str, port: int) -> Message:
    number = failure.errno if isinstance(failure, OSError) else None
    if number == errno.EADDRINUSE:
        return say(
            "Port %(port)s is in use: perhaps Panel is running already in another window. Stop "
            "that one, or choose another port, such as %(other)s.",
            port=str(port),
            other=str(port + 1),
        )
    if number in (errno.EACCES, getattr(errno, "WSAEACCES", errno.EACCES)):
        return say(
            "This account may not listen on port %(port)s. Choose one from 1024 on, such as 8000.",
            port=str(port),
        )
    return say(
        "This machine cannot listen at %(host)s, port %(port)s. Is it one of its own addresses? "
        "0.0.0.0 listens on all of them.",
        host=host,
        port=str(port),
    )
