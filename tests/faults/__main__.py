"""`python -m tests.faults --all`: every fault at every call of every recording command.

It takes hours; `--commands note,look` and `--every 20` take a part. Each line says the process, the
call, the file, and what became of the entry; the end counts them.
"""

from __future__ import annotations

import argparse
import random
import shutil
import sys
import tempfile
from collections import Counter
from pathlib import Path

from labbook.model.errors import LabbookError
from tests.faults.injecting import COMMANDS, KINDS, Outcome, points, sampled, suffer, template


def tell(line: str) -> None:
    """Writes a line at once."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def main() -> int:
    """Runs the points asked for; gives 1 where one of them harmed a notebook."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__)
    parser.add_argument("--all", action="store_true", help="every point; else a sample")
    parser.add_argument("--size", type=int, default=60, help="how many points the sample has")
    parser.add_argument("--seed", type=int, default=20260409)
    parser.add_argument("--every", type=int, default=1, help="of all points each n-th")
    parser.add_argument("--commands", default=",".join(COMMANDS))
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        made = template(folder / "made")
        found = []
        for name in asked.commands.split(","):
            (folder / name).mkdir()
            found += points(made, name, folder / name)
        tell(f"{len(found)} points: {dict(Counter(f'{p.where} {KINDS[p.call]}' for p in found))}")
        chance = random.Random(asked.seed)
        chosen = found[:: asked.every] if asked.all else sampled(found, asked.size, chance)
        harmed: list[str] = []
        outcomes: list[Outcome] = []
        for number, point in enumerate(chosen):
            own = folder / f"p{number}"
            own.mkdir()
            try:
                outcomes.append(suffer(made, point, own))
            except (AssertionError, LabbookError) as error:
                harmed.append(f"{point}\n    {str(error)[:2000]}")
                tell(f"HARMED {harmed[-1]}")
            else:
                tell(str(outcomes[-1]))
            shutil.rmtree(own)
    met = [one for one in outcomes if one.met]
    inside = sum(one.point.where == "git" for one in met)
    tell(
        f"{len(chosen)} points, {len(met)} faults met, {inside} of them inside git; "
        f"{sum(one.kept for one in met)} entries kept; {len(harmed)} notebooks harmed"
    )
    return bool(harmed)


if __name__ == "__main__":
    sys.exit(main())
