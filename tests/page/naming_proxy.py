"""A reverse proxy that logs people in: one port for each, whose name it writes into a header.

What a visitor himself writes into that header is taken out, as a proxy must.
"""

from __future__ import annotations

import asyncio
import contextlib
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

HEADER = "X-Planner-User"
MOST_HEAD = 65_536


@contextmanager
def naming_proxy(upstream_port: int, names: Sequence[str]) -> Iterator[list[str]]:
    """Address for each name."""
    loop = asyncio.new_event_loop()
    addresses: list[str] = []
    ready = threading.Event()
    ended = asyncio.Event()

    async def serve() -> None:
        servers = []
        for name in names:
            server = await asyncio.start_server(
                lambda reader, writer, name=name: _pass_on(reader, writer, name, upstream_port),
                "127.0.0.1",
                0,
                limit=MOST_HEAD,
            )
            servers.append(server)
            addresses.append(f"http://127.0.0.1:{server.sockets[0].getsockname()[1]}")
        ready.set()
        await ended.wait()
        for server in servers:
            server.close()
        for task in asyncio.all_tasks():
            if task is not asyncio.current_task():
                task.cancel()
        await asyncio.sleep(0.05)

    thread = threading.Thread(target=lambda: loop.run_until_complete(serve()), daemon=True)
    thread.start()
    assert ready.wait(10)
    try:
        yield addresses
    finally:
        loop.call_soon_threadsafe(ended.set)
        thread.join(10)
        loop.close()


async def _pass_on(
    reader: asyncio.StreamReader, writer: asyncio.StreamWriter, name: str, port: int
) -> None:
    """One connection: the head of its request changed, all else as it is.

    Connections that are not upgraded carry one request, so that there is no second head.
    """
    with contextlib.suppress(OSError, asyncio.IncompleteReadError, asyncio.CancelledError):
        head = (await reader.readuntil(b"\r\n\r\n")).decode("latin-1")
        first, *lines = head.rstrip("\r\n").split("\r\n")
        upgraded = any(line.lower().startswith("upgrade:") for line in lines)
        dropped = (f"{HEADER.lower()}:", *(() if upgraded else ("connection:", "keep-alive:")))
        kept = [line for line in lines if not line.lower().startswith(dropped)]
        kept += [f"{HEADER}: {name}", *([] if upgraded else ["Connection: close"])]
        up_reader, up_writer = await asyncio.open_connection("127.0.0.1", port)
        up_writer.write(("\r\n".join([first, *kept]) + "\r\n\r\n").encode("latin-1"))
        await asyncio.gather(_copy(reader, up_writer), _copy(up_reader, writer))
    writer.close()


async def _copy(source: asyncio.StreamReader, target: asyncio.StreamWriter) -> None:
    with contextlib.suppress(OSError):
        while piece := await source.read(65_536):
            target.write(piece)
            await target.drain()
    target.close()
