"""Hostile files chosen by what they reach in the code: `python tests/hostile/guided.py --target site --seconds 60` (`make fuzz-guided`).

Wants atheris (pip install atheris), which is in no list of this project: without it, this says so and ends. Whatever is found ends the run
and is kept as a file in the current folder.
"""

from __future__ import annotations

import argparse
import importlib.util
import os
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))


def main() -> int:
    """Run until the time is over or something is found; status 0 where nothing was."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--target", default="site", help="as in the table of `make fuzz`")
    words.add_argument("--ending", default="", help="of the files, as .xlsx (default: the first of the target)")
    words.add_argument("--seconds", type=int, default=600)
    asked = words.parse_args()
    if importlib.util.find_spec("atheris") is None:
        print("atheris is not installed, nothing was tried: python -m pip install atheris", file=sys.stderr)
        return 0
    import atheris

    with atheris.instrument_imports(include=["screening"]):
        from targets import GOOD, targets

        from screening.errors import Refused
    import seeds
    from guard import watched

    _, held, target = targets()[asked.target]
    ending = asked.ending or next(iter(held))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        corpus = folder / "corpus"
        corpus.mkdir()
        for number, data in enumerate(held[ending]):
            (corpus / str(number)).write_bytes(data)
        place = Path.cwd()
        os.chdir(folder)
        GOOD.write_bytes(seeds.text(seeds.LONG))
        path = folder / f"input{ending}"

        def one(data: bytes) -> None:
            path.write_bytes(data)
            try:
                with watched(folder):
                    target(path)
            except Refused:
                pass

        limits = [
            "-timeout=60",
            "-rss_limit_mb=2048",
            f"-max_total_time={asked.seconds}",
            f"-artifact_prefix={place}/{asked.target}-",
        ]
        atheris.Setup([sys.argv[0], str(corpus), *limits], one)
        atheris.Fuzz()
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
