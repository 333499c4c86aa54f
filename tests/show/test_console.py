"""What a command leaves to stdout, and Ctrl-C."""

import signal
import subprocess
import sys

import pytest

from mixlab.show.cli.console import one_stop


def test_what_a_library_prints_stays_out_of_the_answer(tmp_path):
    """In a process of its own: what C writes to stdout by itself is not seen."""
    code = (
        "import os, ctypes\n"
        "from mixlab.files import stream_apart\n"
        "print('before')\n"
        "with stream_apart(1):\n"
        "    os.write(1, b'noise')\n"
        "    ctypes.CDLL(None).puts(b'more noise')\n"
        "print('after')\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "before\nafter\n"


def test_ctrl_c_twice_within_a_second_is_once(monkeypatch):
    heard, before = [], signal.getsignal(signal.SIGINT)
    with one_stop():
        for _ in range(2):
            try:
                signal.raise_signal(signal.SIGINT)
                heard.append("nothing")
            except KeyboardInterrupt:
                heard.append("stop")
        monkeypatch.setattr("mixlab.show.cli.console.time.monotonic", lambda: 1e12)
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    assert heard == ["stop", "nothing"]
    assert signal.getsignal(signal.SIGINT) is before
