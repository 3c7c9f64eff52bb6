"""A PostgreSQL server of the tests' own, in a folder of its own, without a network port."""

from __future__ import annotations

import itertools
import os
import pwd
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

import psycopg

USER = "planner"


def find_programs() -> Path | None:
    """Folder of the newest server's programs, or None; Debian keeps them off the path."""
    on_path = shutil.which("pg_ctl")
    folders = [Path(on_path).resolve().parent] if on_path else []
    installed = Path("/usr/lib/postgresql").glob("*/bin")
    folders += sorted(installed, key=lambda path: float(path.parent.name), reverse=True)
    for folder in folders:
        if (folder / "initdb").exists() and (folder / "postgres").exists():
            return folder
    return None


def other_user() -> str | None:
    """User to run the server as: it refuses to run as root. None where we are not root."""
    if os.geteuid() != 0:
        return None
    names = {one.pw_name for one in pwd.getpwall()}
    return "postgres" if "postgres" in names else "nobody"


class PostgresServer:
    """A running server; ``stop`` removes it without a trace."""

    def __init__(self, programs: Path) -> None:
        self.programs = programs
        self.user = other_user()
        # Not below pytest's folder: that one only its owner can enter.
        self.folder = Path(tempfile.mkdtemp(prefix="pg-", dir="/tmp"))
        self._numbers = itertools.count(1)
        self._free: list[str] = []
        if self.user is not None:
            shutil.chown(self.folder, self.user)
        try:
            self._run("initdb", "-D", self.data, "-U", USER, "-A", "trust", "-E", "UTF8", "-N")
            self.start()
        except BaseException:
            shutil.rmtree(self.folder, ignore_errors=True)
            raise

    @property
    def data(self) -> str:
        """Folder of the server's files."""
        return str(self.folder / "data")

    def start(self) -> None:
        """Start the server; only its socket answers."""
        options = f"-c listen_addresses= -c unix_socket_directories={self.folder} -c fsync=off"
        log = str(self.folder / "log")
        self._run("pg_ctl", "-D", self.data, "-l", log, "-w", "-o", options, "start")

    def halt(self) -> None:
        """Stop the server as a power cut would."""
        self._run("pg_ctl", "-D", self.data, "-m", "immediate", "-w", "stop")

    def stop(self) -> None:
        """Stop and remove the server."""
        try:
            self.halt()
        finally:
            shutil.rmtree(self.folder, ignore_errors=True)

    def connect(self, database: str = "postgres") -> psycopg.Connection[Any]:
        """Connection past the store."""
        return psycopg.connect(host=str(self.folder), dbname=database, user=USER, autocommit=True)

    def url(self, database: str, user: str = USER) -> str:
        """URL of a database."""
        return f"postgresql://{user}@/{database}?host={self.folder}"

    def new_database(self) -> str:
        """Name of an empty database."""
        if self._free:
            return self._free.pop()
        name = f"test{next(self._numbers)}"
        with self.connect() as connection:
            connection.execute(f"CREATE DATABASE {name}".encode())
        return name

    def free_database(self, name: str) -> None:
        """Empty a database for the next test, whoever is still connected to it."""
        with self.connect() as connection:
            connection.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = %s",
                (name,),
            )
        with self.connect(name) as connection:
            connection.execute("DROP SCHEMA public CASCADE; CREATE SCHEMA public")
        self._free.append(name)

    def _run(self, program: str, *arguments: str) -> None:
        subprocess.run(
            [str(self.programs / program), *arguments],
            check=True,
            user=self.user,
            cwd=self.folder,
            env={"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=120,
        )
