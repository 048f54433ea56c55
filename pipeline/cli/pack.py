"""The command pack: the evidence of a site or a unit as one PDF."""

import argparse

from pipeline.base.errors import Exit
from pipeline.cli import options


def pack(parsed: argparse.Namespace) -> Exit:
    """Write the evidence pack of a site or a unit: a PDF, and the fingerprints of its logs."""
    from pipeline.config.load import load_network
    from pipeline.render.pack.pack import write_pack
    from pipeline.render.tables.tables import Tables
    from pipeline.warehouse.measured import measured

    network = load_network(parsed.folder)
    with measured(network.state_folder) as (con, as_of):
        tables = Tables(con, network, as_of)
        path = write_pack(tables, parsed.subject, network.pages_folder / "packs")
    print(f"Open {path}")
    return Exit.DONE


def add_commands(commands: "options.Commands") -> None:
    """Declare the command of this module."""
    one = commands.add_parser("pack", parents=[options.placed()], help=pack.__doc__)
    one.add_argument("subject", help="a site's id, or a unit's serial number")
    one.set_defaults(command=pack)
