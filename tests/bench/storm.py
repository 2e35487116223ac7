"""The storm at length: `python -m tests.bench.storm --kills 300 [--seed words]`.

`--seconds` ends it early, after the kill that is under way. `--results file` gets one line of JSON
after every kill that was looked at, so that a storm which is stopped still tells how far it came.
Prints one JSON object: kills, what was wrong (must be empty), how many ballots were sent and kept,
and after how many seconds the service was ready again. With no violation in n kills, at most
1 - 0.05^(1/n) of kills violate anything, at 95 % confidence.
"""

import argparse
import json
import statistics
import tempfile
import time
from pathlib import Path

from tests.faults.storm import Storm, storm

MOST_KILLS = 3_000


def main() -> None:
    """Runs the storm and prints its figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=300)
    parser.add_argument("--seed", default="bench")
    parser.add_argument("--seconds", type=float, default=float("inf"))
    parser.add_argument("--results", type=Path)
    given = parser.parse_args()
    kills = min(max(given.kills, 1), MOST_KILLS)
    ends = time.monotonic() + given.seconds

    def go_on(seen: Storm) -> bool:
        if given.results is not None:
            _append(given.results, seen)
        return time.monotonic() < ends

    with tempfile.TemporaryDirectory() as folder:
        seen = storm(Path(folder), kills, given.seed, go_on)
    print(  # noqa: T201
        json.dumps(
            {
                "kills": seen.kills,
                "wrong": seen.wrong,
                "at most, of kills (95 %)": round(1 - 0.05 ** (1 / seen.kills), 5),
                "ballots": {state.value: count for state, count in seen.forms.items()},
                "kept": dict(seen.by_channel),
                "posts": seen.posts,
                "cut": seen.cuts,
                "sent twice": seen.repeats,
                "seconds to ready, median": round(statistics.median(seen.starts), 2),
                "seconds to ready, longest": round(max(seen.starts), 2),
            },
            indent=2,
        )
    )


def _append(results: Path, seen: Storm) -> None:
    line = {"kills": seen.kills, "wrong": seen.wrong, "ready after": round(seen.starts[-1], 2)}
    with results.open("a", encoding="utf-8") as lines:
        lines.write(json.dumps(line, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main()
