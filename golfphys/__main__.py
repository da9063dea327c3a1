"""The command line: ``python -m golfphys run NOTEBOOK --into FOLDER``."""

import argparse
import sys
from collections.abc import Sequence

from golfphys import headless


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status.

    Parameters
    ----------
    arguments : sequence of str, optional
        What follows ``python -m golfphys``; taken from the command line if left out.

    Returns
    -------
    int
        0 when all went well, 1 when the notebook failed, 2 when the call was wrong.
    """
    parser = argparse.ArgumentParser(prog="python -m golfphys", description="Golf chipping physics, without a browser.")
    commands = parser.add_subparsers(dest="command", required=True)
    command = commands.add_parser("run", help="run a notebook; leave its figures and tables in a folder")
    command.add_argument("notebook", help="the notebook, such as notebooks/00_from_rollouts_to_landing_spot.ipynb")
    command.add_argument("--into", metavar="FOLDER", default="results", help="the folder (default: %(default)s)")
    command.add_argument(
        "--seconds-per-cell",
        metavar="N",
        type=int,
        default=headless.SECONDS_PER_CELL,
        help="limit (default: %(default)s)",
    )
    options = parser.parse_args(arguments)
    try:
        written = headless.run(options.notebook, options.into, seconds_per_cell=options.seconds_per_cell)
    except (ValueError, OSError) as error:
        print(f"golfphys: {error}", file=sys.stderr)
        return 2
    except headless.NotebookFailed as error:
        print(f"golfphys: {options.notebook}: {error}", file=sys.stderr)
        return 1
    for path in written:
        print(path)
    return 0


if __name__ == "__main__":
    sys.exit(main())
