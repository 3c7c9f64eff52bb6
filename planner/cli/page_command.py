"""``planner page``: serve the page."""

from __future__ import annotations

import subprocess
import sys
from typing import Annotated

import typer

from planner import demo_data
from planner.cli.run import exit_codes

__all__ = ["page"]


def page(
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port to listen on.")] = 8501,
    address: Annotated[
        str, typer.Option(help="Address to listen on; 0.0.0.0 shows it to the whole network.")
    ] = "127.0.0.1",
    browser: Annotated[bool, typer.Option(help="Open a browser.")] = True,
) -> None:
    """Serve the page; it has no login."""
    with exit_codes():
        command = [sys.executable, "-m", "streamlit", "run", str(demo_data.app_file())]
        command += [f"--server.port={port}", f"--server.address={address}"]
        command += [f"--server.headless={str(not browser).lower()}"]
        command += ["--browser.gatherUsageStats=false", "--server.fileWatcherType=none"]
        raise typer.Exit(subprocess.run(command, check=False).returncode)
