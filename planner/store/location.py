"""Where a store is: a file by default, a server by its URL."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from planner.errors import OptionError

__all__ = ["STORE_VARIABLE", "Location", "cache_folder", "default_file", "locate"]

STORE_VARIABLE = "PLANNER_STORE"
"""Environment variable with the file or URL of the store."""
FILE_NAME = "store.sqlite"
_SERVER_DRIVERS = {
    "postgres": "postgresql+psycopg",
    "postgresql": "postgresql+psycopg",
    "postgresql+psycopg": "postgresql+psycopg",
}


@dataclass(frozen=True)
class Location:
    """Where a store is; shown without a password."""

    url: URL

    @property
    def file(self) -> Path | None:
        """The store's file, or None for a server."""
        if self.url.get_backend_name() != "sqlite":
            return None
        return Path(str(self.url.database))

    def __str__(self) -> str:
        file = self.file
        return self.url.render_as_string(hide_password=True) if file is None else str(file)


def locate(
    where: str | Path | None = None, environment: Mapping[str, str] | None = None
) -> Location:
    """Find the store that is meant.

    Parameters
    ----------
    where
        File, or URL of a PostgreSQL server; None takes the environment's ``PLANNER_STORE``, and
        without that a file in the user's data folder.
    environment
        Environment variables; the process's own if None.

    Raises
    ------
    OptionError
        The URL cannot be used.
    """
    environment = os.environ if environment is None else environment
    text = str(where) if where is not None else environment.get(STORE_VARIABLE, "")
    if not text.strip():
        return _of_file(default_file(environment))
    if "://" not in text:
        return _of_file(Path(text).expanduser())
    try:
        url = make_url(text)
    except (ArgumentError, ValueError):
        # The text is not repeated: it may hold a password.
        raise OptionError(
            "store: the URL cannot be read; write postgresql://user@host/database"
        ) from None
    if url.drivername == "sqlite":
        if not url.database or url.database == ":memory:":
            raise OptionError("store: sqlite:/// needs a file; give the file's path")
        return _of_file(Path(url.database))
    driver = _SERVER_DRIVERS.get(url.drivername)
    if driver is None:
        raise OptionError(
            f"store: {url.drivername}:// is not supported; give a file or a postgresql:// URL"
        )
    return Location(url.set(drivername=driver))


def default_file(environment: Mapping[str, str] | None = None) -> Path:
    """File in the user's data folder, which the XDG Base Directory Specification 0.8 names."""
    environment = os.environ if environment is None else environment
    data = environment.get("XDG_DATA_HOME", "")
    # The specification: a relative path is invalid and must be ignored.
    if os.path.isabs(data):
        folder = Path(data)
    elif sys.platform == "win32":
        folder = Path(environment.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        folder = Path.home() / "Library" / "Application Support"
    else:
        folder = Path(environment.get("HOME") or Path.home()) / ".local" / "share"
    return folder / "planner" / FILE_NAME


def cache_folder(environment: Mapping[str, str] | None = None) -> Path:
    """Folder for what can be worked out anew (XDG Base Directory Specification 0.8)."""
    environment = os.environ if environment is None else environment
    cache = environment.get("XDG_CACHE_HOME", "")
    if os.path.isabs(cache):
        return Path(cache) / "planner"
    if sys.platform == "win32":
        local = environment.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local"
        return Path(local) / "planner" / "cache"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "planner"
    return Path(environment.get("HOME") or Path.home()) / ".cache" / "planner"


def _of_file(path: Path) -> Location:
    return Location(URL.create("sqlite", database=str(path.absolute())))
