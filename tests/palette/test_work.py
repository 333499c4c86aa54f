"""Processes that do not outlive their parent, and schedulers that are none."""

import os
import signal
import socket
import subprocess
import sys

import pytest

from mixlab.errors import ReachError
from mixlab.palette import work
from mixlab.palette.work import cluster


@pytest.mark.skipif(os.name != "posix", reason="no SIGKILL")
def test_processes_end_with_the_one_that_started_them():
    """They hold its stdout, which would stay open; it is killed while they work."""
    code = (
        "import time\n"
        "from mixlab.palette.work import processes\n"
        "if __name__ == '__main__':\n"
        "    with processes(2) as pool:\n"
        "        pool.submit(abs, 1).result()\n"
        "        pool.submit(time.sleep, 600)\n"
        "        print('ready', flush=True)\n"
        "        time.sleep(600)\n"
    )
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE) as parent:
        assert parent.stdout.readline() == b"ready\n"
        parent.send_signal(signal.SIGKILL)
        assert parent.stdout.read() == b""  # to its end, which comes when nobody holds it


@pytest.mark.parametrize(
    ("address", "why"),
    [
        ("x", "it is no address"),
        ("tcp://", "it is no address"),
        ("tls://127.0.0.1:8786", "only a scheduler at tcp://host:8786 is asked"),
        ("ucx://127.0.0.1:8786", "only a scheduler at tcp://host:8786 is asked"),
        ("127.0.0.1:1", "Connection refused"),
        ("tcp://[::1", "it is no address"),
    ],
)
def test_an_address_without_a_scheduler(address, why):
    pytest.importorskip("distributed", reason="Dask is not installed")
    with pytest.raises(ReachError, match="tcp://host:8786") as refused, cluster(address):
        pass
    assert why in str(refused.value)


@pytest.mark.parametrize(
    ("says", "why"),
    [
        (None, "timed out"),
        (b"HTTP/1.1 400 Bad Request\r\n\r\n", "no Dask scheduler"),
        (b"", "no Dask scheduler"),
    ],
)
def test_a_server_that_is_no_scheduler(monkeypatch, says, why):
    pytest.importorskip("distributed", reason="Dask is not installed")
    monkeypatch.setattr(work, "_PATIENCE", 0.1)
    connect = socket.create_connection
    with socket.create_server(("127.0.0.1", 0)) as server:

        def greeted(*given):
            line = connect(*given)
            heard, _ = server.accept()
            if says is None:
                line.heard = heard  # it stays open, and silent
            else:
                heard.sendall(says)
                heard.close()
            return line

        class Line(socket.socket):
            pass

        monkeypatch.setattr(socket, "create_connection", greeted)
        monkeypatch.setattr(socket, "socket", Line)  # one that may bear an attribute
        address = f"tcp://127.0.0.1:{server.getsockname()[1]}"
        with pytest.raises(ReachError, match=why), cluster(address):
            pass
