"""`python -m seed_demo [FOLDER]`: write an invented fleet, run the commands, compare."""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

from seed_demo.files import write_inputs
from seed_demo.performance_files import write_performance
from seed_demo.walk import walk


def _arguments(words: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m seed_demo",
        description="An invented fleet with known truth, taken through the real commands.",
    )
    parser.add_argument("folder", nargs="?", default="demo", type=Path, help="default: demo")
    parser.add_argument(
        "--files-only", action="store_true", help="write the input files, run no command"
    )
    return parser.parse_args(words)


def main(words: list[str]) -> int:
    """Run the demonstration and return the exit code."""
    arguments = _arguments(words)
    folder: Path = arguments.folder
    started = time.monotonic()
    written = write_inputs(folder)
    performance = write_performance(folder)
    took = time.monotonic() - started
    print(
        f"{len(written)} flights of an invented fleet, and {len(performance)} with climbs and "
        f"glides, written to {folder} in {took:.1f} s"
    )
    if not arguments.files_only:
        truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
        walk(folder, written, truth, performance)
        print(f"\nThe whole demonstration took {time.monotonic() - started:.0f} s.")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
