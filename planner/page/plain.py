"""Text of maps and bags, which is never read as markup."""

from __future__ import annotations

__all__ = ["plain"]

MARKUP = frozenset("\\`*_{}[]<>()#+-.!|~$:&")


def plain(text: str) -> str:
    """Return ``text`` so that Markdown shows it letter by letter, on one line."""
    one_line = " ".join(text.replace("\u00a0", "\0").split()).replace("\0", "\u00a0")
    return "".join(f"\\{c}" if c in MARKUP else c for c in one_line)
