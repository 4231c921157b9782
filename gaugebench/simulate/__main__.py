"""`python -m gaugebench.simulate SCRIPT.toml OUT.csv.gz`: carry out a script, write what came."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from gaugebench.errors import ScriptError
from gaugebench.simulate.csvfile import write_run


def main(arguments: list[str]) -> int:
    """Read the command line; 0, or 1 with one sentence on standard error."""
    parser = argparse.ArgumentParser(prog="python -m gaugebench.simulate", description=__doc__)
    parser.add_argument("script", type=Path, help="the script (TOML)")
    parser.add_argument("out", type=Path, help="the trace to write (.csv or .csv.gz)")
    parser.add_argument("--no-truth", action="store_true", help="leave out OUT.truth.json")
    options = parser.parse_args(arguments)
    try:
        written = write_run(options.script, options.out, truth=not options.no_truth)
    except ScriptError as fault:
        sys.stderr.write(f"{fault}\n")
        return 1
    except FileExistsError as fault:
        sys.stderr.write(f"{fault.filename} is there already; name another file.\n")
        return 1
    sys.stdout.write("".join(f"{path}\n" for path in written))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
