"""Networks whose sites follow this or that practice."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from pipeline.config.network import Network, Site


@pytest.fixture
def network_of() -> Callable[..., Network]:
    def made(**practice_of: str) -> Network:
        sites = {
            site: Site(site, site, "Outer Banks", "UTC", 0, practice, date(2020, 1, 1))
            for site, practice in practice_of.items()
        }
        nowhere = Path("nowhere")
        return Network(nowhere, "Saltmarsh", True, sites, (), (), nowhere, nowhere, "")

    return made
