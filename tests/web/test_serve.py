"""The server: it says why it cannot listen, answers, and stops when told to."""

import errno
import http.client
import os
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask

from panel.core.errors import Fault, PanelError
from panel.web.serve import serve
from tests.structure.checkout import ROOT


@pytest.fixture
def taken() -> Iterator[int]:
    """A port on which somebody else listens."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        yield server.getsockname()[1]


def test_a_port_in_use_is_told_in_words(app: Flask, taken: int) -> None:
    with pytest.raises(PanelError, match=f"Port {taken} is in use") as refusal:
        serve(app, "127.0.0.1", taken)
    assert refusal.value.fault is Fault.PLACE


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.EACCES, "may not listen on port 80"),
        (errno.EADDRNOTAVAIL, "cannot listen at pub, port 80"),
    ],
)
def test_why_it_cannot_listen(
    app: Flask, monkeypatch: pytest.MonkeyPatch, number: int, words: str
) -> None:
    def refuses(_host: str, _port: int) -> None:
        raise OSError(number, "as the system says it")

    monkeypatch.setattr("panel.web.serve.bind_once", refuses)
    with pytest.raises(PanelError, match=words):
        serve(app, "pub", 80)


@pytest.mark.parametrize("host", ["a..b", "x" * 64])
def test_a_host_that_is_no_name_is_told_in_words(app: Flask, host: str) -> None:
    with pytest.raises(PanelError, match="cannot listen at"):
        serve(app, host, 8000)


PROGRAM = """
import sys, threading
from pathlib import Path
from flask import Flask
from panel.web.serve import serve

app = Flask("slow")
begun = threading.Event()

@app.get("/")
def slow():
    print("begun", flush=True)
    threading.Event().wait(0.5)
    return "whole answer"

serve(app, "127.0.0.1", 0, lambda port: print(port, flush=True))
print("stopped", flush=True)
"""


@pytest.mark.skipif(os.name == "nt", reason="Windows delivers no such signal to a process")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_it_finishes_what_is_under_way_and_exits_with_0(number: int, tmp_path: Path) -> None:
    program = subprocess.Popen(
        [sys.executable, "-c", PROGRAM], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )
    assert program.stdout is not None
    answers: list[bytes] = []
    try:
        port = int(program.stdout.readline())

        def ask() -> None:
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
            connection.request("GET", "/")
            answers.append(connection.getresponse().read())
            connection.close()

        asking = threading.Thread(target=ask)
        asking.start()
        assert program.stdout.readline() == "begun\n"
        program.send_signal(number)
        asking.join(20)
        assert answers == [b"whole answer"]
        assert program.wait(20) == 0
        assert "stopped" in program.stdout.read()
    finally:
        program.kill()
        program.wait()
        program.stdout.close()
