"""``planner page``: serve the page, at home or to the public."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Annotated, NoReturn

import typer

from planner import demo_data
from planner.cli.run import exit_codes
from planner.errors import OptionError

__all__ = ["page"]

PUBLIC_UPLOAD_MB = 32
"""Largest file a stranger may send [MB]: that of the largest shot log that is read."""
PUBLIC_MESSAGE_MB = 32
"""Largest message of a browser [MB]; ten thousand times what the page's own are."""


def page(
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port to listen on.")] = 8501,
    address: Annotated[
        str, typer.Option(help="Address to listen on; 0.0.0.0 shows it to the whole network.")
    ] = "127.0.0.1",
    browser: Annotated[bool, typer.Option(help="Open a browser.")] = True,
    public: Annotated[
        bool, typer.Option("--public", help="For strangers: everyone logs in and sees his own.")
    ] = False,
    user_header: Annotated[
        str | None,
        typer.Option(help="With --public: header in which a reverse proxy names the user."),
    ] = None,
    trusted_proxy: Annotated[
        list[str] | None,
        typer.Option(help="Address or network of that proxy; may be given several times."),
    ] = None,
) -> None:
    """Serve the page; without --public it has no login."""
    with exit_codes():
        if (user_header or trusted_proxy) and not public:
            raise OptionError("--user-header and --trusted-proxy need --public")
        if address.startswith("unix:"):
            raise OptionError("--address: give an IP address or a host's name")
        command = [sys.executable, "-m", "planner.page.start", "run", str(demo_data.app_file())]
        command += [f"--server.port={port}", f"--server.address={address}"]
        command += [f"--server.headless={str(public or not browser).lower()}"]
        command += ["--browser.gatherUsageStats=false", "--server.fileWatcherType=none"]
        environment = dict(os.environ)
        if public:
            environment |= _environment(user_header, trusted_proxy or [])
            command += [f"--server.maxUploadSize={PUBLIC_UPLOAD_MB}"]
            command += [f"--server.maxMessageSize={PUBLIC_MESSAGE_MB}"]
            command += ["--server.enableXsrfProtection=true", "--client.showErrorDetails=none"]
        else:
            # What an earlier public page left in the shell must not decide who may come.
            environment["PLANNER_ACCESS"] = "local"
        with _ended_together():
            code = subprocess.run(command, check=False, env=environment).returncode
        raise typer.Exit(code)


@contextmanager
def _ended_together() -> Iterator[None]:
    """A request to end this program ends the server that it waits for, too."""

    def end(number: int, _: FrameType | None) -> NoReturn:
        raise SystemExit(128 + number)

    before = signal.signal(signal.SIGTERM, end)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _environment(user_header: str | None, trusted_proxy: list[str]) -> dict[str, str]:
    """What tells the server how its visitors are known.

    Raises
    ------
    OptionError
        They cannot be known.
    """
    from planner.page.access import Access, environment_of, header_access
    from planner.page.login import login_faults

    if user_header is not None:
        return environment_of(header_access(user_header, trusted_proxy))
    if trusted_proxy:
        raise OptionError("--trusted-proxy needs --user-header, the header it writes")
    faults = login_faults()
    if faults:
        listed = "\n".join(f"  - {fault}" for fault in faults)
        raise OptionError(
            f"--public needs to know its visitors, and does not yet:\n{listed}\n"
            "Either put a provider into [auth] of .streamlit/secrets.toml as Streamlit's "
            "authentication asks, or name the header of a reverse proxy that logs people in: "
            "--user-header X-Forwarded-User --trusted-proxy 10.0.0.4"
        )
    return environment_of(Access("login"))
