"""A region's page: its failing units first, compared within the region and with the network."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.everything import region_table
from pipeline.render.parts.news import STOPPED
from pipeline.render.scope import Scope, region_scopes
from pipeline.render.view_network import OverviewView, overview
from pipeline.render.views import Section
from pipeline.render.words import percent, percent_range, with_share


def region_view(scope: Scope) -> OverviewView:
    """The page that a regional manager opens."""
    return overview(scope, before=(_comparison(scope),))


def _comparison(scope: Scope) -> Section:
    """The region's rate beside the network's, and the other regions for comparison."""
    rankings = scope.tables.rankings
    here = rankings.get((STOPPED, "region", scope.subject_id))
    network = rankings.get((STOPPED, "network", "network"))
    if here is None or network is None or here.denominator == 0:
        lead = phrase("region.none_run")
    else:
        lead = phrase(
            "region.compared",
            here=with_share(here.numerator, here.denominator),
            network=percent(network.share),
            likely=percent(here.likely),
            range=percent_range(here.likely_low, here.likely_high),
        )
    table = region_table(scope, region_scopes(scope.tables))
    return Section("regions-compared", phrase("region.compared_title"), lead, tables=(table,))
