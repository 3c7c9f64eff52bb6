"""One page of all checks, as Markdown or HTML: every miss, and every check that was not run."""

from __future__ import annotations

import html
import platform
from collections.abc import Sequence
from datetime import date
from importlib.metadata import version

from planner import __version__
from planner.acceptance.areas import AreaResult, tally
from planner.acceptance.claim import Check, Verdict, figure_text

__all__ = ["HEADINGS", "as_html", "as_markdown", "check_row", "introduction"]

HEADINGS = ("check", "source", "published", "ours", "difference", "allowed", "verdict")
TITLE = "Held to the outside"
LIBRARIES = ("numpy", "scipy", "numba", "shapely", "pyproj")
_STYLE = """
body { font: 15px/1.45 system-ui, sans-serif; margin: 2rem auto; max-width: 78rem; padding: 0 1rem;
  color: #1b1b1b; background: #fff; }
table { border-collapse: collapse; width: 100%; margin: .6rem 0 1.6rem; font-size: 13px; }
th, td { border-bottom: 1px solid #ccc; padding: .25rem .5rem; text-align: left;
  vertical-align: top; }
td.n, th.n { text-align: right; white-space: nowrap; font-variant-numeric: tabular-nums; }
tr.misses { background: #fde8e0; } tr.misses td:last-child { font-weight: bold; }
tr.unrun { color: #666; } td.why { color: #555; }
"""


def introduction(results: Sequence[AreaResult], day: date, made_by: str) -> list[str]:
    """Return the sentences above the tables."""
    made = ", ".join(f"{name} {version(name)}" for name in LIBRARIES)
    sentences = [
        f"planner {__version__}, {day.isoformat()}; Python {platform.python_version()}, {made}.",
        f"Made by `{made_by}`, and remade by it." if made_by else "",
        f"{tally(*results)}.",
        "Every check names who published its value and why its tolerance is what it is, which "
        "is never the size of its own difference. A check that misses stays here as a miss, "
        "with its reason where one is known. One that was not run says why.",
    ]
    return [sentence for sentence in sentences if sentence]


def check_row(check: Check) -> tuple[str, ...]:
    """Cells of one check, in the order of :data:`HEADINGS`."""
    claim = check.claim
    unit = f" {claim.unit}" if claim.unit else ""
    published = "" if check.published is None else figure_text(check.published) + unit
    ours = "" if check.ours is None else figure_text(check.ours) + unit
    gap = "" if check.difference is None else f"{check.difference:+.2g}"
    verdict = check.verdict.value
    if check.fault:
        verdict += f": {check.fault}"
    if claim.known_miss and check.verdict is Verdict.MISSES:
        verdict += f": {claim.known_miss}"
    allowed = check.allowed + (f"; {claim.reason}" if claim.reason else "")
    return (claim.name, claim.source, published, ours, gap, allowed,
            verdict)  # fmt: skip


def as_markdown(results: Sequence[AreaResult], day: date, *, made_by: str = "") -> str:
    """The page as Markdown; ``made_by`` is the command that makes it, if there is one."""
    lines = [f"# {TITLE}", ""]
    for sentence in introduction(results, day, made_by):
        lines += [sentence, ""]
    misses = _misses(results)
    lines += ["## What misses", ""]
    lines += _markdown_table(misses) if misses else ["Nothing that was run.", ""]
    for result in results:
        lines += [f"## {result.area.title}", "", result.area.what, "", f"{tally(result)}.", ""]
        lines += _markdown_table(result.checks)
    return "\n".join(lines).rstrip() + "\n"


def _markdown_table(checks: Sequence[Check]) -> list[str]:
    rows = [HEADINGS, tuple("---" for _ in HEADINGS), *map(check_row, checks)]
    return [*(f"| {' | '.join(map(_cell, row))} |" for row in rows), ""]


def _cell(text: str) -> str:
    return " ".join(text.replace("|", "\\|").split())


def as_html(results: Sequence[AreaResult], day: date, *, made_by: str = "") -> str:
    """The page as HTML that needs no other file; ``made_by`` as for Markdown."""
    parts = [
        "<!doctype html>",
        f'<html lang="en"><head><meta charset="utf-8"><title>{TITLE}</title>',
        f"<style>{_STYLE}</style></head><body><h1>{TITLE}</h1>",
        *(f"<p>{html.escape(sentence)}</p>" for sentence in introduction(results, day, made_by)),
    ]
    misses = _misses(results)
    parts.append("<h2>What misses</h2>")
    parts.append(_html_table(misses) if misses else "<p>Nothing that was run.</p>")
    for result in results:
        parts += [
            f"<h2>{html.escape(result.area.title)}</h2>",
            f"<p>{html.escape(result.area.what)} {html.escape(tally(result))}.</p>",
            _html_table(result.checks),
        ]
    return "\n".join([*parts, "</body></html>", ""])


_NUMBERS = ("published", "ours", "difference")
_ROW_CLASS = {Verdict.HOLDS: "holds", Verdict.MISSES: "misses", Verdict.NOT_RUN: "unrun"}


def _html_table(checks: Sequence[Check]) -> str:
    def cells(tag: str, row: Sequence[str]) -> str:
        return "".join(
            f"<{tag}{' class=n' if name in _NUMBERS else ''}>{html.escape(text)}</{tag}>"
            for name, text in zip(HEADINGS, row, strict=True)
        )

    rows = [
        f'<tr class="{_ROW_CLASS[check.verdict]}">{cells("td", check_row(check))}</tr>'
        for check in checks
    ]
    return "\n".join(["<table>", f"<tr>{cells('th', HEADINGS)}</tr>", *rows, "</table>"])


def _misses(results: Sequence[AreaResult]) -> list[Check]:
    return [c for result in results for c in result.checks if c.verdict is Verdict.MISSES]
