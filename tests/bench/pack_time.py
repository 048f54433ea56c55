"""How long an evidence pack takes, how large it is, and what memory many of them take together.

Packs of every site of a network that has run, in one process; processor seconds of the view and of
the typesetting apart. Run: python tests/bench/pack_time.py FOLDER
"""

import resource
import sys
import time
from pathlib import Path

from pipeline.config.load import load_network
from pipeline.render.pack.pack import document
from pipeline.render.pack.view import pack_view
from pipeline.render.scope import site_scope
from pipeline.render.tables.tables import Tables
from pipeline.warehouse.measured import measured

TARGET_SECONDS = 2
"""Of processors, for a site of five units."""


def main(folder: Path) -> None:
    network = load_network(folder)
    with measured(network.state_folder) as (con, as_of):
        tables = Tables(con, network, as_of)
        print(f"target: {TARGET_SECONDS} s a site of 5 units")
        for site in tables.sites.values():
            begun = time.process_time()
            view = pack_view(site_scope(tables, site))
            seen = time.process_time()
            data = document(view)
            done = time.process_time()
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(
                f"{site.site_id:18} {len(view.units)} units {len(view.logs.lines):5} logs: "
                f"view {seen - begun:.2f} s, document {done - seen:.2f} s, "
                f"{len(data) / 1e6:.1f} MB; peak {memory:.0f} MB"
            )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
