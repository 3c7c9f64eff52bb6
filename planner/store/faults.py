"""What a database complains of, said so that a person can mend it."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy.exc import DBAPIError, IntegrityError, SQLAlchemyError

from planner.errors import StoreError
from planner.store.location import Location

__all__ = ["told_clearly"]

_KEPT = "nothing was changed"
_SQLITE = {
    "SQLITE_BUSY": f"another program is writing to it; {_KEPT}; try again",
    "SQLITE_LOCKED": f"another program is writing to it; {_KEPT}; try again",
    "SQLITE_FULL": f"the disk is full; {_KEPT}; make room and try again",
    "SQLITE_READONLY": f"it cannot be written to; {_KEPT}; give yourself the right to write to "
    "the file and its folder, or name another store",
    "SQLITE_READONLY_DBMOVED": f"it was replaced since it was opened; {_KEPT}; try again",
    "SQLITE_PERM": f"it may not be used; {_KEPT}; give yourself the right to write to it",
    "SQLITE_CANTOPEN": "it cannot be opened; the file and its folder must be there and you need "
    "the right to write to both",
    "SQLITE_IOERR": f"reading or writing it failed; {_KEPT}; look whether the disk is full, "
    "bounded or faulty",
    "SQLITE_CORRUPT": "it is damaged; bring a backup back with `planner store restore`",
    "SQLITE_NOTADB": "it is not a store; name another file, or bring a backup back with "
    "`planner store restore`",
    "SQLITE_TOOBIG": f"one value is too large; {_KEPT}",
}
"""By the names of SQLite's result codes (sqlite.org/rescode.html), the longest that fits."""
_SERVER = {
    "23": f"somebody saved the same at the same moment; {_KEPT}; try again",
    "25006": f"the server is read-only; {_KEPT}",
    "28": "the server does not let this user in; check user and password",
    "3F": f"the user may not do this on the server; {_KEPT}",
    "3D": "the server has no such database; create it first",
    "40": f"somebody wrote at the same moment; {_KEPT}; try again",
    "42501": f"the user may not do this on the server; {_KEPT}",
    "53100": f"the server's disk is full; {_KEPT}",
    "53": "the server has no room or no free connection; try again later",
    "55P03": f"another program is writing to it; {_KEPT}; try again",
    "57014": f"the server stopped the work; {_KEPT}; try again",
    "57P": "the server is stopping or starting; try again",
}
"""By the starts of PostgreSQL's SQLSTATE codes (manual, appendix A), the longest that fits."""
_NO_SERVER = "the server does not answer; check address and network"
_CUT_OFF = "the connection was lost; look whether the last change is there before you repeat it"


@contextmanager
def told_clearly(location: Location) -> Iterator[None]:
    """Turn faults of the database, its disk and its server into one :class:`StoreError`."""
    try:
        yield
    except (DBAPIError, sqlite3.Error) as error:
        raise StoreError(f"store {location}: {_reason(error)}") from error
    except SQLAlchemyError as error:
        raise StoreError(f"store {location}: {_first_line(error)}") from error
    except UnicodeDecodeError as error:
        # SQLite quotes the damaged text in what it complains of.
        raise StoreError(f"store {location}: {_SQLITE['SQLITE_CORRUPT']}") from error
    except ModuleNotFoundError as error:
        if error.name != "psycopg":
            raise
        raise StoreError(
            f"store {location}: the driver is missing; pip install 'planner[postgres]'"
        ) from error
    except OSError as error:
        raise StoreError(f"store {location}: {_disk_reason(error)}") from error


def _reason(error: DBAPIError | sqlite3.Error) -> str:
    cause: Any = error.orig if isinstance(error, DBAPIError) else error
    name = getattr(cause, "sqlite_errorname", None)
    if isinstance(cause, sqlite3.IntegrityError):
        return _SERVER["23"]
    if name is not None:
        fitting = _longest(_SQLITE, name)
        return fitting or f"{_first_line(cause)} ({name})"
    state = getattr(cause, "sqlstate", None)
    if state is not None and (fitting := _longest(_SERVER, state)):
        return fitting
    if isinstance(error, IntegrityError):
        return _SERVER["23"]
    if isinstance(error, DBAPIError) and error.connection_invalidated:
        return _CUT_OFF
    if state is None and type(cause).__name__ == "OperationalError":
        return f"{_login_reason(str(cause)) or _NO_SERVER} ({_first_line(cause)})"
    return _first_line(cause)


def _login_reason(text: str) -> str | None:
    # A refused login has no SQLSTATE in the driver: the connection never stood.
    if "does not exist" in text and "database" in text:
        return _SERVER["3D"]
    if "authentication failed" in text or "no password supplied" in text or "role" in text:
        return _SERVER["28"]
    return None


def _disk_reason(error: OSError) -> str:
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return _SQLITE["SQLITE_FULL"]
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return _SQLITE["SQLITE_CANTOPEN"]
    if error.errno in (errno.EEXIST, errno.ENOTDIR):
        return f"{error.filename} is no folder; name another place"
    file = f" ({error.filename})" if error.filename else ""
    return f"{error.strerror or error}{file}"


def _longest(texts: dict[str, str], code: str) -> str | None:
    fitting = [start for start in texts if code.startswith(start)]
    return texts[max(fitting, key=len)] if fitting else None


def _first_line(error: object) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0]
