"""Coverage-guided fuzzing of one reader: ``python coverage_guided.py READER FOLDER [options]``.

FOLDER keeps what was found; options go to libFuzzer. An input that raises anything but
PlannerError, takes longer than ``-timeout`` or more memory than ``-rss_limit_mb`` ends the run
with an exit code other than 0 and stays in FOLDER.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import atheris

HERE = Path(__file__).resolve().parent
INSTRUMENTED = [
    *("planner.course", "planner.golfer", "planner.store", "planner.planning.saved_work"),
    *("json", "tomllib", "csv"),
]


def main() -> None:
    """Fuzz until libFuzzer's options say it is enough."""
    reader, folder, *options = sys.argv[1:]
    sys.path.insert(0, str(HERE.parents[1]))
    # Compiled kernels must be imported before: they cannot be instrumented.
    import planner.numerics.gaussian_filter  # noqa: F401

    with atheris.instrument_imports(include=INSTRUMENTED):
        spec = importlib.util.spec_from_file_location("readers", HERE / "readers.py")
        assert spec is not None
        assert spec.loader is not None
        readers = importlib.util.module_from_spec(spec)
        sys.modules["readers"] = readers
        spec.loader.exec_module(readers)
    Path(folder).mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(readers.seeds(reader)):
        (Path(folder) / f"seed-{number}").write_bytes(seed)

    def once(content: bytes) -> None:
        readers.survives(reader, content)

    artifacts = f"-artifact_prefix={folder}/"
    atheris.Setup([sys.argv[0], *options, artifacts, folder], once)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
