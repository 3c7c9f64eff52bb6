"""The served page as a program: started, and ended by a request of the system."""

from __future__ import annotations

import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest


def answers(port: int) -> bool:
    with socket.socket() as probe:
        probe.settimeout(1.0)
        return probe.connect_ex(("127.0.0.1", port)) == 0


def wait_until(port: int, *, up: bool, within_s: float) -> bool:
    end = time.monotonic() + within_s
    while answers(port) is not up:
        if time.monotonic() > end:
            return False
        time.sleep(0.1)
    return True


@pytest.mark.skipif(sys.platform == "win32", reason="Windows ends a program without asking it")
def test_a_request_to_end_ends_the_server_too(tmp_path: Path) -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    command = [sys.executable, "-c", "from planner.cli.app import main; main()"]
    command += ["page", f"--port={port}", "--no-browser"]
    program = subprocess.Popen(
        command, cwd=tmp_path, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        assert wait_until(port, up=True, within_s=90)
        program.send_signal(signal.SIGTERM)
        assert program.wait(20) == 128 + signal.SIGTERM
        assert wait_until(port, up=False, within_s=20)
    finally:
        program.kill()
