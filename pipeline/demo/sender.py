"""Sends exports of a site: spelled in its shape, now and then spoilt, now and then twice."""

from dataclasses import dataclass, field
from datetime import timedelta
from types import ModuleType

import numpy as np
import polars as pl

from pipeline.demo.archive import Archive
from pipeline.demo.exports import Export
from pipeline.demo.layout import Layout, table
from pipeline.demo.shapes import comma, jsonlines, printout, semicolon, spreadsheet
from pipeline.demo.sites import Place
from pipeline.demo.spoiling import spoiler

SHAPES: dict[str, ModuleType] = {
    "comma": comma,
    "semicolon": semicolon,
    "spreadsheet": spreadsheet,
    "jsonlines": jsonlines,
    "printout": printout,
}


@dataclass
class Sender:
    """One site, and what of its files went wrong on the way."""

    archive: Archive
    site: Place
    rng: np.random.Generator
    told: dict[str, list[str]] = field(default_factory=dict)

    def send(
        self, kind: str, shape: str, layout: Layout, export: Export, rows: pl.DataFrame
    ) -> None:
        """Write one export of one kind of log, and its copy when it is sent twice."""
        faults: list[str] = []
        spoil = spoiler(self.rng, faults)
        module = SHAPES[shape]
        title = f"Saltmarsh Isles Clinics, {self.site.name}"
        data = module.encode(table(layout, rows), title, spoil)
        path = f"logs/{self.site.site_id}/{kind}-{export.name}"
        self.archive.write(f"{path}.{module.SUFFIX}", data, export.exported)
        if export.is_repeated:
            later = export.exported + timedelta(days=5)
            self.archive.write(f"{path}-copy.{module.SUFFIX}", data, later)
            faults.append("sent twice")
        if faults:
            self.told[f"{path}.{module.SUFFIX}"] = faults
