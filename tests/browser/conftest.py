"""A browser on the pages of the small hostile network, and a record of all that it does."""

import importlib.util
import os
from pathlib import Path

import pytest

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update",
)  # fmt: skip


def _small_network():
    """The fixture of tests/unit/render: there is one invented network for pages, not two."""
    path = Path(__file__).parents[1] / "unit" / "render" / "conftest.py"
    spec = importlib.util.spec_from_file_location("small_network", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def folder(tmp_path_factory) -> Path:
    small = _small_network()
    folder = tmp_path_factory.mktemp("pages")
    with small.open_memory() as con:
        small.prepare(con)
        small.fill(con)
        small.render_pages(small.Tables(con, small.network(), small.AS_OF), folder)
    return folder


@pytest.fixture(scope="session")
def browser():
    if not CHROMIUM.exists():
        if os.environ.get("HOLDTIME_REQUIRE_BROWSER"):
            pytest.fail(f"HOLDTIME_REQUIRE_BROWSER is set and there is no {CHROMIUM}")
        pytest.skip(f"there is no {CHROMIUM}")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=str(CHROMIUM), args=list(FLAGS))
        yield browser
        browser.close()


@pytest.fixture
def visit(browser, folder):
    """Open a page at a width; `page.noise` gathers what the browser complains of or asks for."""
    contexts = []

    def opened(name: str, width: int = 1280, **settings):
        context = browser.new_context(
            viewport={"width": width, "height": 844}, is_mobile=width < 600, **settings
        )
        contexts.append(context)
        page = context.new_page()
        page.noise = []
        page.on("console", lambda message: page.noise.append(message.text))
        page.on("pageerror", lambda error: page.noise.append(str(error)))
        page.on("dialog", lambda dialog: page.noise.append(f"dialog: {dialog.message}"))
        page.on(
            "request", lambda one: page.noise.append(one.url) if one.url[:5] != "file:" else None
        )
        page.goto((folder / name).as_uri())
        return page

    yield opened
    for context in contexts:
        context.close()
