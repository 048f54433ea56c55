"""The commands due and lookback: what falls due, and which loads a growth puts in doubt."""

import argparse
import json
from dataclasses import asdict
from pathlib import Path

from pipeline.base.errors import Exit
from pipeline.base.files import write_whole
from pipeline.base.language import speaking
from pipeline.cli import options


def due(parsed: argparse.Namespace) -> Exit:
    """Print which tests and tasks are overdue or fall due, by the figures of the last run."""
    from pipeline.config.load import load_network
    from pipeline.render.due_list import due_list, due_text
    from pipeline.render.tables.tables import Tables
    from pipeline.warehouse.measured import measured

    network = load_network(parsed.folder)
    with speaking(network.language), measured(network.state_folder) as (con, as_of):
        tables = Tables(con, network, as_of)
        rows = due_list(tables, parsed.days, parsed.site)
        if parsed.json:
            print(json.dumps([asdict(one) for one in rows], default=str))
        else:
            print(due_text(rows, tables, parsed.days))
    return Exit.DONE


def lookback(parsed: argparse.Namespace) -> Exit:
    """List the loads of a unit that a growth puts in doubt, or since its last clear test."""
    from pipeline.config.load import load_network
    from pipeline.render.lookback_list import Lookback
    from pipeline.render.tables.tables import Tables
    from pipeline.warehouse.measured import measured

    network = load_network(parsed.folder)
    with speaking(network.language), measured(network.state_folder) as (con, as_of):
        found = Lookback(Tables(con, network, as_of), parsed.unit, parsed.test)
        print(found.text())
        if parsed.csv:
            write_whole(parsed.csv, found.csv())
    return Exit.DONE


def add_commands(commands: "options.Commands") -> None:
    """Declare the commands of this module."""
    one = commands.add_parser("due", parents=[options.placed()], help=due.__doc__)
    one.add_argument("--days", type=int, default=14, help="how far to look ahead (default: 14)")
    one.add_argument("--site", help="the id of one site, as in sites.csv (default: all)")
    one.add_argument("--json", action="store_true", help="print it for machines")
    one.set_defaults(command=due)
    one = commands.add_parser("lookback", parents=[options.placed()], help=lookback.__doc__)
    one.add_argument("unit", help="the unit's serial number, as in units.csv")
    one.add_argument("--test", help="the test that grew first (default: the growth that is open)")
    one.add_argument("--csv", type=Path, help="write the loads to this file, to work from")
    one.set_defaults(command=lookback)
