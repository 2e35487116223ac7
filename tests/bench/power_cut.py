"""Power cuts at length: `python -m tests.bench.power_cut --cuts 300`.

One recorded run of the real service for each setting of `synchronous`, ballots coming in by phone
and keyed in, 120 a second; then so many power cuts at random instants of it, each judged by the
invariants of the storm (tests/faults/power.py says what a cut leaves). FULL is what Panel uses and
must lose nothing; OFF and NORMAL are the controls and must lose acknowledged ballots. Status 1 if
anything is otherwise.
"""

import argparse
import json
import sqlite3
import sys
import tempfile
from pathlib import Path
from typing import Any

from tests.faults.power_cuts import Cuts, power_cuts
from tests.faults.recorded import SYNC_ENDS, WRITE


def main() -> None:
    """Cuts the power and prints what was left."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cuts", type=int, default=300)
    parser.add_argument("--forms", type=int, default=600, help="acknowledged in each recorded run")
    parser.add_argument("--seed", default="bench")
    given = parser.parse_args()
    found = {}
    for setting in ("FULL", "NORMAL", "OFF"):
        with tempfile.TemporaryDirectory() as folder:
            found[setting] = power_cuts(
                Path(folder), given.cuts, given.seed, given.forms, SYNCHRONOUS=setting
            )
    told = {setting: _told(one) for setting, one in found.items()}
    print(json.dumps({"SQLite": sqlite3.sqlite_version, **told}, indent=2))  # noqa: T201
    blind = not (found["OFF"].lost and found["NORMAL"].lost)
    sys.exit(1 if found["FULL"].wrong or blind else 0)


def _told(seen: Cuts) -> dict[str, Any]:
    return {
        "power cuts": seen.cuts,
        "lost an acknowledged ballot, or everything": seen.lost,
        "damaged": seen.broken,
        "at most, of cuts (95 %)": round(1 - 0.05 ** (1 / seen.cuts), 4) if not seen.lost else "",
        "acknowledged before a cut, mean": round(seen.acknowledged / seen.cuts),
        "writes recorded": seen.events[WRITE],
        "syncs recorded": seen.events[SYNC_ENDS],
        "wrong": seen.wrong[:3],
    }


if __name__ == "__main__":
    main()
