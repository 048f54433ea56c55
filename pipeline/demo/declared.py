"""network.toml of the invented network: a feed for each kind of log and shape.

The columns come from the very layouts that wrote the logs, so the two cannot part.
"""

import json

from pipeline.base.language import ORIGINAL
from pipeline.demo import books
from pipeline.demo.layout import Layout
from pipeline.demo.sender import SHAPES
from pipeline.demo.shapes import printout
from pipeline.demo.sites import Place

_HEAD = """# The Saltmarsh Isles Clinics are invented, and so is every line of their logs.
# Written by the simulator: shapes, words and units are those that real clinics might have.

[group]
name = "Saltmarsh Isles Clinics"
invented = true
"""


def network_toml(sites: list[Place], language: str = ORIGINAL) -> str:
    """The declaration of these sites' feeds, and of the language of the pages."""
    feeds = [_HEAD if language == ORIGINAL else f'{_HEAD}language = "{language}"\n']
    for shape, module in SHAPES.items():
        chosen = [site for site in sites if site.shape == shape]
        if not chosen:
            continue
        pattern = "strips/*" if shape == "printout" else "cycles-*"
        feed = _feed(f"cycles-{shape}", "cycle", shape, pattern, chosen, module.cycles(chosen[0]))
        if shape == "printout":
            feed += f"[feed.reading.column]{printout.READING_COLUMNS}"
        feeds.append(feed)
    traced = [site for site in sites if site.shape != "printout"]
    if traced:
        layout = books.readings(traced[0])
        feeds.append(_feed("readings", "reading", "comma", "readings-*", traced, layout))
    for shape, layout_of in books.TESTS.items():
        chosen = [site for site in sites if books.TEST_SHAPES[site.shape] == shape]
        if not chosen:
            continue
        layout = layout_of(chosen[0])
        feeds.append(_feed(f"tests-{shape}", "test", shape, "tests-*", chosen, layout))
        layout = books.tasks(chosen[0])
        feeds.append(_feed(f"tasks-{shape}", "task", shape, "tasks-*", chosen, layout))
    layout = books.closures(sites[0])
    feeds.append(_feed("closures", "closure", "comma", "closures", sites, layout))
    layout = books.follow_ups(sites[0])
    feeds.append(_feed("follow-ups", "follow_up", "comma", "follow-ups", sites, layout))
    return "\n".join(feeds)


def _feed(
    name: str, kind: str, shape: str, pattern: str, sites: list[Place], layout: Layout
) -> str:
    module = SHAPES[shape]
    lines = [
        "[[feed]]",
        f'name = "{name}"',
        f'kind = "{kind}"',
        f"sites = {json.dumps([site.site_id for site in sites])}",
        f'location = "logs/{{site}}/{pattern}.{module.SUFFIX}"',
        f'time_zone = "{module.TIME_ZONE}"',
        f"format = {module.FORMAT}",
        "[feed.column]",
        *(field.toml() for field in layout),
    ]
    return "\n".join(lines) + "\n"
