"""From the bytes of a spreadsheet's text export to rows of cells with their line numbers."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from planner.errors import ShotLogError

__all__ = [
    "MAX_FILE_BYTES",
    "MAX_ROWS",
    "SEPARATORS",
    "LogLine",
    "LogText",
    "file_content",
    "split_rows",
]

MAX_FILE_BYTES = 32_000_000
"""Largest shot log that is read: 100,000 rows of a wide export, in two bytes a character."""
MAX_ROWS = 250_000
MAX_COLUMNS = 500
SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
"""Characters that may stand between cells, and their names."""
_BOMS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
_NOT_TEXT = {
    b"PK\x03\x04": "is a spreadsheet workbook or an archive",
    b"\xd0\xcf\x11\xe0": "is a spreadsheet workbook",
    b"%PDF": "is a PDF document",
}
_SAMPLE_LINES = 60
_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")


@dataclass(frozen=True)
class LogLine:
    """Cells of one row, and the line of the file where it starts, counted from 1."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class LogText:
    """A shot log as rows of text.

    Parameters
    ----------
    source
        Name of the file as the user gave it.
    encoding, separator
        What they were found to be.
    rows
        Every row that has a cell with text in it.
    """

    source: str
    encoding: str
    separator: str
    rows: tuple[LogLine, ...]


def file_content(path: str | Path) -> bytes:
    """Bytes of a shot log.

    Raises
    ------
    ShotLogError
        The file cannot be read or is too large.
    """
    source = str(path)
    try:
        if Path(path).is_dir():
            raise ShotLogError(source, ["is a folder; name a shot log (.csv)"])
        _check_size(source, Path(path).stat().st_size)
        return Path(path).read_bytes()
    except FileNotFoundError:
        raise ShotLogError(source, ["does not exist; check the path"]) from None
    except OSError as error:
        raise ShotLogError(source, [f"cannot be read: {error.strerror}"]) from None


def split_rows(source: str, content: bytes) -> LogText:
    """Split a shot log into cells: any usual encoding, and commas, semicolons, tabs or bars.

    Raises
    ------
    ShotLogError
        The content is no text, has no rows, has a quotation mark that is never closed, or is too
        large.
    """
    _check_size(source, len(content))
    text, encoding = _decoded(source, content)
    first, separator = _stated_separator(text)
    separator = separator or _likely_separator(text)
    rows = _rows(source, text, separator, first)
    if not rows:
        raise ShotLogError(source, ["holds no rows; export the shots again"])
    return LogText(source, encoding, separator, tuple(rows))


def _check_size(source: str, size: int) -> None:
    if size > MAX_FILE_BYTES:
        raise ShotLogError(
            source,
            [
                f"is {size / 1e6:.0f} MB; at most {MAX_FILE_BYTES / 1e6:g} MB are read: split it "
                "by season or leave out columns that are not needed"
            ],
        )


def _decoded(source: str, content: bytes) -> tuple[str, str]:
    for start, said in _NOT_TEXT.items():
        if content.startswith(start):
            raise ShotLogError(source, [f"{said}; save the shots as CSV (text) and read that"])
    marked = (encoding for mark, encoding in _BOMS if content.startswith(mark))
    encoding = next(marked, None) or _encoding_without_mark(content)
    try:
        text = content.decode(encoding, "replace" if encoding == "cp1252" else "strict")
        # Halves of characters and control characters can be neither printed nor saved.
        return _UNPRINTABLE.sub("\ufffd", text), encoding
    except UnicodeDecodeError:
        problem = f"starts like {encoding} text but is not; save it as UTF-8 text"
        raise ShotLogError(source, [problem]) from None


def _encoding_without_mark(content: bytes) -> str:
    # In UTF-16 every second byte of Latin text is zero; no other text has zeros.
    sample = content[:4096]
    half = max(len(sample) // 2, 1)
    if sample[1::2].count(0) > 0.3 * half:
        return "utf-16-le"
    if sample[0::2].count(0) > 0.3 * half:
        return "utf-16-be"
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def _stated_separator(text: str) -> tuple[int, str]:
    """Lines to skip and the separator, if the first line is a spreadsheet's ``sep=;``."""
    line = text[:16].splitlines()[0] if text[:16].strip() else ""
    if line.casefold().startswith("sep=") and len(line) == 5 and line[4] in SEPARATORS:
        return 1, line[4]
    if line.casefold().rstrip() == "sep=":
        return 1, "\t"
    return 0, ""


def _likely_separator(text: str) -> str:
    """Separator that cuts most rows of the file's start into equally many cells."""
    # A cell may hold line breaks; the cut through the last one does no harm in a sample.
    sample = "".join(islice(io.StringIO(text, newline=""), _SAMPLE_LINES))

    def merit(separator: str) -> tuple[float, int]:
        _allow_long_cells()
        reader = csv.reader(io.StringIO(sample, newline=""), delimiter=separator)
        rows = [row for row in reader if any(cell.strip() for cell in row)]
        counts = Counter(len(row) for row in rows if len(row) > 1)
        if not counts:
            return (0.0, 0)
        width, often = max(counts.items(), key=lambda item: (item[1], item[0]))
        # Decimal commas cut numbers but no headings: words before the first number decide.
        headed = any(len(row) == width for row in rows if not _has_digit_first(row))
        return (often / len(rows) + headed, width)

    return max(SEPARATORS, key=merit)


def _has_digit_first(row: list[str]) -> bool:
    """Whether more cells of a row begin like a number than like a word."""
    starts = [cell.strip()[:1] for cell in row if cell.strip()]
    return sum(start.isdigit() or start in "+-" for start in starts) > len(starts) / 2


def _rows(source: str, text: str, separator: str, skip: int) -> list[LogLine]:
    _allow_long_cells()
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    rows: list[LogLine] = []
    start = 1
    for cells in reader:
        line, start = start, reader.line_num + 1
        if line <= skip:
            continue
        if len(cells) > MAX_COLUMNS:
            problem = f"line {line}: has {len(cells)} cells; at most {MAX_COLUMNS} are read"
            raise ShotLogError(source, [problem])
        if any(cell and not cell.isspace() for cell in cells):
            rows.append(LogLine(line, tuple(cells)))
        if len(rows) > MAX_ROWS:
            problem = f"has more than {MAX_ROWS:,} rows; split it by season"
            raise ShotLogError(source, [problem])
    if rows and any("\n" in cell or "\r" in cell for cell in rows[-1].cells):
        _check_closed(source, text, separator, rows[-1].line)
    return rows


def _check_closed(source: str, text: str, separator: str, line: int) -> None:
    """Refuse a last row that swallowed what follows an open quotation mark."""
    lines = io.StringIO(text, newline="").readlines()[line - 1 :]
    try:
        list(csv.reader(lines, delimiter=separator, strict=True))
    except csv.Error as error:
        if "unexpected end" in str(error):
            problem = f"line {line}: a quotation mark is never closed; close or remove it"
            raise ShotLogError(source, [problem]) from None


def _allow_long_cells() -> None:
    # The reader's own limit belongs to the process; it is only ever raised, to the file's limit.
    if csv.field_size_limit() < MAX_FILE_BYTES:
        csv.field_size_limit(MAX_FILE_BYTES)
