"""`manage.py start` as a stranger meets it: ports, addresses, the one-time code, files over the wire, ending clean."""

from __future__ import annotations

import contextlib
import hashlib
import http.client
import os
import re
import signal
import socket
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.keeping.harness import ROOT, Server, Told, free_port, picture, upload


@contextlib.contextmanager
def started(home: Path, *words: str) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """Start with these words; yield what it said until it was open, and the process."""
    process = subprocess.Popen(
        [sys.executable, "manage.py", "start", "--home", str(home), *words], cwd=ROOT, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, env={**os.environ, "KISTBOOK_FAULT": ""},
    )  # fmt: skip
    said = ""
    try:
        assert process.stdout is not None
        for line in process.stdout:
            said += line
            if "Ctrl-C" in line:
                break
        yield said, process
    finally:
        process.kill()
        process.communicate()


def port_in(said: str) -> int:
    found = re.search(r"http://127\.0\.0\.1:(\d+)/", said)
    assert found, said
    return int(found[1])


def test_an_older_python_comes_as_far_as_the_sentence_about_its_age() -> None:
    """An import or a way of writing that it does not know would be told as an error of syntax instead."""
    import ast

    source = (ROOT / "manage.py").read_text(encoding="utf-8")
    body = ast.parse(source, feature_version=(3, 4)).body
    assert [type(each).__name__ for each in body[:3]] == ["Expr", "Import", "If"]
    assert "Kistbook needs Python 3.11 or newer" in ast.unparse(body[2])


def test_the_next_free_port_is_taken_and_said(tmp_path: Path) -> None:
    with contextlib.ExitStack() as stack:
        taken = stack.enter_context(socket.socket())
        with contextlib.suppress(OSError):  # somebody else may have it, which is as good
            taken.bind(("127.0.0.1", 8350))
            taken.listen()
        said, _ = stack.enter_context(started(tmp_path / "a"))
        assert port_in(said) > 8350 and "Port 8350 is in use" in said


def test_a_port_that_was_asked_for_is_not_exchanged(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with started(tmp_path / "a", "--port", str(port)) as (said, process):
            assert process.wait(timeout=20) != 0 and f"Port {port} is in use" in said


@pytest.mark.parametrize("port", ["0", "-5", "99999"])
def test_a_port_that_there_is_not_is_said_in_a_sentence(port: str, tmp_path: Path) -> None:
    with started(tmp_path / "a", f"--port={port}") as (said, process):
        assert process.wait(timeout=20) != 0 and "A port is a number from 1 to 65535" in said
        assert "Traceback" not in said


def test_only_this_computer_is_answered_unless_sharing(tmp_path: Path) -> None:
    from archive.sharing.addresses import own_addresses

    port = free_port()
    with started(tmp_path / "a", "--port", str(port)) as (said, _):
        assert "On the home network" not in said
        for address in [each for each in own_addresses() if ":" not in each]:
            with pytest.raises(OSError), socket.create_connection((address, port), timeout=2):
                pass
    with started(tmp_path / "a", "--port", str(port), "--share") as (said, _):
        for address in [each for each in own_addresses() if ":" not in each]:
            assert f"http://{address}:{port}/" in said
            connection = http.client.HTTPConnection(address, port, timeout=10)
            connection.request("GET", "/sign-in/")
            assert connection.getresponse().status in (200, 302)
            connection.close()


def test_the_code_for_other_devices_is_said_once_there_is_no_keeper_only(tmp_path: Path) -> None:
    with started(tmp_path, "--port", str(free_port())) as (said, process):
        assert re.search(r"needs this code:  [2-9]{8}\n", said)
        process.send_signal(signal.SIGTERM)  # as a log-out does
        rest, _ = process.communicate(timeout=30)
        assert process.returncode == 0 and "Closed. Everything is saved." in rest
    server = Server(tmp_path)
    server.start()
    server.make_keeper()
    server.close()
    with started(tmp_path, "--port", str(free_port())) as (said, _):
        assert "needs this code" not in said


def test_the_demo_and_an_archive_of_ones_own_do_not_mix(tmp_path: Path) -> None:
    (tmp_path / "demo-household").touch()
    with started(tmp_path) as (said, process):
        assert process.wait(timeout=20) != 0 and "holds the demo" in said


def test_an_original_over_the_wire_in_parts(tmp_path: Path) -> None:
    """RFC 9110 §14 through the real server: parts join to the whole, and the connection goes on after each answer."""
    server, told = Server(tmp_path), Told()
    server.start()
    cookie = server.make_keeper()
    more = os.urandom(3_000_000)
    assert upload(server, cookie, 5, told, more) == 302
    with sqlite3.connect(tmp_path / "kistbook.sqlite3") as database:
        public_id = database.execute("SELECT public_id FROM archive_picture").fetchone()[0]
    database.close()
    whole, path = picture(5) + more, f"/pictures/{public_id}/file/"
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=20)

    def ask(method: str, **headers: str) -> tuple[http.client.HTTPResponse, bytes]:
        connection.request(method, path, headers={"Cookie": cookie, **headers})
        answer = connection.getresponse()
        return answer, answer.read()

    size, step, got = len(whole), 700_001, b""
    for start in range(0, size, step):
        answer, body = ask("GET", Range=f"bytes={start}-{start + step - 1}")
        assert answer.status == 206
        assert answer.getheader("Content-Range") == f"bytes {start}-{min(start + step, size) - 1}/{size}"
        got += body
    assert hashlib.sha256(got).digest() == hashlib.sha256(whole).digest()
    answer, body = ask("HEAD", Range="bytes=0-9")  # ranges are defined for GET only
    assert answer.status == 200 and body == b"" and answer.getheader("Content-Length") == str(size)
    connection.request("HEAD", "/sign-in/")  # a page made on the way has no body on the wire either
    answer = connection.getresponse()
    assert answer.status == 200 and answer.read() == b""
    answer, _ = ask("GET", Range=f"bytes={size}-")
    assert answer.status == 416 and answer.getheader("Content-Range") == f"bytes */{size}"
    answer, body = ask("GET", Range="BYTES=-5")
    assert answer.status == 206 and body == whole[-5:]
    answer, body = ask("GET", Range="bytes=0-999999999999999999999999999999")
    assert answer.status == 206 and body == whole
    tag = answer.getheader("ETag") or ""
    answer, body = ask("GET", **{"If-None-Match": tag, "Range": "bytes=0-1"})
    assert answer.status == 304 and body == b""
    connection.close()
    assert server.close() == 0
