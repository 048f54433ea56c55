"""The command explain: what stands behind a figure or a finding, down to file and line."""

import argparse
from pathlib import Path

from pipeline.base.errors import Exit
from pipeline.base.files import write_whole
from pipeline.base.language import speaking
from pipeline.cli import options


def explain(parsed: argparse.Namespace) -> Exit:
    """Print what a figure or finding is made of: its rule, its source and every line behind it."""
    from pipeline.config.load import load_network
    from pipeline.render.explain.text import Explanation
    from pipeline.render.tables.tables import Tables
    from pipeline.warehouse.measured import measured

    network = load_network(parsed.folder)
    with speaking(network.language), measured(network.state_folder) as (con, as_of):
        found = Explanation(con, Tables(con, network, as_of), parsed.figure)
        print(found.text(is_whole=parsed.all))
        if parsed.csv:
            write_whole(parsed.csv, found.csv())
    return Exit.DONE


def add_commands(commands: "options.Commands") -> None:
    """Declare the command of this module."""
    one = commands.add_parser("explain", parents=[options.placed()], help=explain.__doc__)
    one.add_argument(
        "figure",
        help="a finding's id, or measure/level/subject, such as stopped_equipment/unit/KX-104",
    )
    one.add_argument("--all", action="store_true", help="print every line, however many")
    one.add_argument("--csv", type=Path, help="write every line to this file")
    one.set_defaults(command=explain)
