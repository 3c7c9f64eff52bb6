"""A visitor without a browser: the server's own protocol over a websocket."""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from websockets.sync.client import ClientConnection, connect


@dataclass
class Shown:
    """What one run of the page has sent."""

    metrics: dict[str, str] = field(default_factory=dict)
    texts: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    ended: bool = False

    @property
    def text(self) -> str:
        return "\n".join(self.texts).replace("\\", "")


@contextmanager
def session(
    port: int, headers: Sequence[tuple[str, str]], *, wait_s: float = 60.0
) -> Iterator[Session]:
    """One connection to a served page."""
    with connect(
        f"ws://127.0.0.1:{port}/_stcore/stream",
        additional_headers=list(headers),
        subprotocols=["streamlit"],  # type: ignore[list-item]
        max_size=None,
        open_timeout=wait_s,
        ping_interval=None,
    ) as socket:
        yield Session(socket, wait_s)


class Session:
    """One connection; each ``show`` is one run of the page."""

    def __init__(self, socket: ClientConnection, wait_s: float) -> None:
        self._socket, self._wait_s = socket, wait_s

    def show(self, parameters: Mapping[str, str]) -> Shown:
        """Ask for the page at an address and wait until it has run."""
        message = BackMsg()
        message.rerun_script.query_string = urlencode(parameters)
        self._socket.send(message.SerializeToString())
        shown, end = Shown(), time.monotonic() + self._wait_s
        while not shown.ended:
            content = self._socket.recv(timeout=max(0.01, end - time.monotonic()))
            assert isinstance(content, bytes)
            self._note(ForwardMsg.FromString(content), shown)
        return shown

    @staticmethod
    def _note(message: Any, shown: Shown) -> None:
        kind = message.WhichOneof("type")
        if kind == "script_finished":
            shown.ended = message.script_finished == ForwardMsg.FINISHED_SUCCESSFULLY
            if message.script_finished == ForwardMsg.FINISHED_WITH_COMPILE_ERROR:
                raise AssertionError("the page does not compile")
        if kind != "delta" or message.delta.WhichOneof("type") != "new_element":
            return
        element = message.delta.new_element
        what = element.WhichOneof("type")
        if what == "metric":
            shown.metrics[element.metric.label] = element.metric.body
        elif what == "markdown":
            shown.texts.append(element.markdown.body)
        elif what == "exception":
            shown.faults.append(element.exception.message)
