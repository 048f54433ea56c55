"""The printouts of a site: a strip a cycle, sent as it is printed."""

from datetime import timedelta

import polars as pl

from pipeline.demo.layout import table
from pipeline.demo.sender import Sender
from pipeline.demo.shapes import printout

_TORN_SHARE, _AGAIN_SHARE = 0.002, 0.01


def send_strips(sender: Sender, cycles: pl.DataFrame, readings: pl.DataFrame) -> None:
    """Write the strips; a few are torn, a few are scanned twice."""
    columns = ("elapsed_seconds", "chamber_celsius", "chamber_kpa")
    traces = {
        (str(key[0]), int(key[1])): rows.select(columns)
        for key, rows in readings.group_by("unit_serial", "cycle_number", maintain_order=True)
    }
    lines = table(printout.cycles(sender.site), cycles).iter_rows(named=True)
    chances = sender.rng.random((len(cycles), 2))
    for line, ended, chance in zip(lines, cycles["ended"], chances, strict=True):
        serial, number = line["Unit"], line["Cycle"]
        data = printout.strip(line, traces.get((serial, number)), sender.site.name)
        path = f"logs/{sender.site.site_id}/strips/{serial}-{number:06d}"
        if chance[0] < _TORN_SHARE:
            data = data[: len(data) // 2]
            sender.told[f"{path}.txt"] = ["torn off in the middle"]
        sender.archive.write(f"{path}.txt", data, ended + timedelta(minutes=2))
        if chance[1] < _AGAIN_SHARE:
            sender.archive.write(f"{path}-again.txt", data, ended + timedelta(days=1))
