"""Print the lowest versions that pyproject.toml allows, as constraints for pip.

``python .ci/lowest.py [EXTRA...]`` takes the dependencies of everybody and those of the extras. A
bound that is no plain ``>=`` is a fault: without one nobody knows what was tested.
"""

from __future__ import annotations

import re
import sys
import tomllib
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent / "pyproject.toml"


def lowest(requirements: list[str]) -> list[str]:
    """Each requirement pinned to its lower bound."""
    pinned, faults = [], []
    for text in requirements:
        found = re.fullmatch(r"([A-Za-z0-9._-]+)(?:\[[\w,]+\])?\s*>=\s*([\w.]+)(,<[\w.]+)?", text)
        if found is None:
            faults.append(text)
            continue
        pinned.append(f"{found[1]}=={found[2]}")
    if faults:
        sys.exit(f"no lower bound: {', '.join(faults)}")
    return pinned


def main() -> None:
    """Print the constraints."""
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]
    wanted = list(project["dependencies"])
    for extra in sys.argv[1:]:
        wanted += project["optional-dependencies"][extra]
    print("\n".join(lowest(wanted)))


if __name__ == "__main__":
    main()
