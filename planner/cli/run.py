"""What every command needs: exit codes, progress, printing."""

from __future__ import annotations

import json
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from enum import IntEnum
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, Any, NoReturn

import typer

from planner.errors import OptionError, PlannerError, SolveError

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

    from planner.planning.progress import Progress

__all__ = [
    "STANDARD_OUTPUT",
    "ExitCode",
    "check_json_folder",
    "exit_codes",
    "print_parts",
    "progress_bar",
    "write_bytes",
    "write_json",
]

STANDARD_OUTPUT = Path("-")
"""Stands for standard output where a file is asked for."""
PIPE_WIDTH, MAX_WIDTH = 100, 120
"""Columns of text in a pipe, and at most in a terminal."""


class ExitCode(IntEnum):
    """What the program tells the shell."""

    OK = 0
    UNUSABLE = 1
    USAGE = 2
    UNSOLVED = 3
    INTERRUPTED = 130
    READER_GONE = 141

    @property
    def meaning(self) -> str:
        """What the code says, for the help and the manual."""
        return _MEANINGS[self]


_MEANINGS = {
    ExitCode.OK: "done (a map may have warnings)",
    ExitCode.UNUSABLE: "an input file or the store cannot be used",
    ExitCode.USAGE: "an option or argument is wrong",
    ExitCode.UNSOLVED: "a hole cannot be solved, or the solution did not converge",
    ExitCode.INTERRUPTED: "interrupted",
    ExitCode.READER_GONE: "the reader of the output went away",
}


@contextmanager
def exit_codes() -> Iterator[None]:
    """Turn what goes wrong inside into one clear text and an exit code."""
    try:
        yield
    except KeyboardInterrupt:
        _stop("interrupted", ExitCode.INTERRUPTED)
    except OptionError as error:
        _stop(str(error), ExitCode.USAGE)
    except SolveError as error:
        _stop(str(error), ExitCode.UNSOLVED)
    except (PlannerError, FileNotFoundError) as error:
        _stop(str(error), ExitCode.UNUSABLE)


def _stop(text: str, code: ExitCode) -> NoReturn:
    typer.echo(f"planner: {text}", err=True)
    raise typer.Exit(code) from None


@contextmanager
def _kept_interrupts() -> Iterator[threading.Event]:
    """Event that an interrupt sets besides raising ``KeyboardInterrupt``.

    Python drops the exception where it falls into a callback or a destructor, as happens while
    kernels are compiled or loaded.
    """
    asked = threading.Event()
    ours = threading.current_thread() is threading.main_thread() and (
        signal.getsignal(signal.SIGINT) is signal.default_int_handler
    )

    def interrupt(number: int, frame: FrameType | None) -> None:
        asked.set()
        signal.default_int_handler(number, frame)

    if ours:
        signal.signal(signal.SIGINT, interrupt)
    try:
        yield asked
    finally:
        if ours:
            signal.signal(signal.SIGINT, signal.default_int_handler)
    if asked.is_set():
        raise KeyboardInterrupt


@contextmanager
def progress_bar() -> Iterator[Callable[[Progress], None]]:
    """Progress bar on standard error, if that is a terminal.

    What it yields raises ``KeyboardInterrupt`` if an interrupt was asked for and got lost.
    """
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bar

    console = _console(stderr=True)
    columns = (TextColumn("{task.description}", markup=False), BarColumn())
    bar = Bar(
        *columns,
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        console=console,
        transient=True,
        disable=not console.is_terminal,
    )
    with _kept_interrupts() as interrupted, bar:
        task = bar.add_task("Reading", total=None)

        def show(progress: Progress) -> None:
            if interrupted.is_set():
                raise KeyboardInterrupt
            bar.update(
                task,
                completed=progress.done,
                total=progress.total or None,
                description=progress.text,
            )

        yield show


def check_json_folder(path: Path | None) -> None:
    """Find out before long work whether ``--json`` names a file in a folder that is there.

    Raises
    ------
    OptionError
        There is no such folder.
    """
    if path is not None and path != STANDARD_OUTPUT and not path.absolute().parent.is_dir():
        raise OptionError(f"--json {path}: there is no folder {path.absolute().parent}")


def write_json(path: Path, content: dict[str, Any]) -> None:
    """Write JSON to a file, or to standard output for ``STANDARD_OUTPUT``.

    Raises
    ------
    OptionError
        The file cannot be written.
    """
    text = json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    if path == STANDARD_OUTPUT:
        _console().out(text, end="", highlight=False)
        return
    write_bytes(path, text.encode(), option="--json")


def write_bytes(path: Path, content: bytes, *, option: str) -> None:
    """Write the file that ``option`` names.

    Raises
    ------
    OptionError
        The file cannot be written.
    """
    try:
        path.write_bytes(content)
    except OSError as error:
        raise OptionError(f"{option} {path}: cannot be written: {error.strerror}") from None


def print_parts(*parts: RenderableType) -> None:
    """Print to standard output: plain text in a pipe, no colours where NO_COLOR is set."""
    console = _console()
    if console.is_terminal:
        console.print(*parts, sep="\n")
        return
    with console.capture() as captured:
        console.print(*parts, sep="\n")
    lines = (line.rstrip() for line in captured.get().splitlines())
    console.out("\n".join(lines), highlight=False)


def _console(*, stderr: bool = False) -> Console:
    from rich.console import Console as RichConsole

    class PipeConsole(RichConsole):
        def on_broken_pipe(self) -> None:
            # What Python still holds back at exit must not meet the closed pipe again.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            raise typer.Exit(ExitCode.READER_GONE)

    console = PipeConsole(stderr=stderr, highlight=False)
    if console.is_terminal:
        console.width = min(console.width, MAX_WIDTH)
    elif "COLUMNS" not in os.environ:
        console.width = PIPE_WIDTH
    return console
