"""`scripts/soak`: the long counts of what the tests run in small, each with the same code."""

from __future__ import annotations

import argparse
import importlib
import json
import sys
from dataclasses import asdict

COUNTS = {
    "kills": "end writing programs by force, and see that nothing acknowledged is lost",
    "fuzz": "ask the app everything its description allows and more, and see that nothing breaks",
    "files": "read spoilt files of every sort, and see that each is read or refused in words",
    "tablets": "let eight tablets read and write in one shop, and see how long they wait",
}


def main() -> int:
    """Run one count and print what came of it; 0 if nothing was wrong."""
    parser = argparse.ArgumentParser(prog="scripts/soak", description=__doc__)
    counts = parser.add_subparsers(required=True, dest="name")
    modules = {}
    for name, told in COUNTS.items():
        modules[name] = importlib.import_module(f"tests.soak.{name}")
        modules[name].options(counts.add_parser(name, help=told, description=told))
    asked = parser.parse_args()
    failed = False
    for outcome in modules[asked.name].run(asked):
        print(json.dumps(asdict(outcome)), flush=True)
        failed = failed or not outcome.sound
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
