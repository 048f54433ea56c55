"""In which language pages and letters are written, as network.toml and sites.csv declare it."""

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.base.language import LANGUAGES
from pipeline.config.load import load_network

READERS = """
[mail]
from = "Saltmarsh reports <reports@saltmarsh.example>"
folder = "out"
unsubscribe = "stop@saltmarsh.example"

[[recipient]]
address = "all@saltmarsh.example"
role = "group"

[[recipient]]
address = "quay@saltmarsh.example"
role = "site"
scope = "gannet-quay"

[[recipient]]
address = "bay@saltmarsh.example"
role = "site"
scope = "umber-bay"

[[recipient]]
address = "us@saltmarsh.example"
role = "site"
scope = "umber-bay"
language = "en-US"
"""
"""Only the last one says a language of its own."""


def declare(folder, language: str = "", of_sites: tuple[str, str] = ("", "")) -> None:
    """Declare languages of the group and of both sites; "" declares none."""
    path = folder / "network.toml"
    text = path.read_text(encoding="utf-8")
    if language:
        text = text.replace("[group]\n", f'[group]\nlanguage = "{language}"\n')
    path.write_text(text + READERS, encoding="utf-8")
    path = folder / "sites.csv"
    head, *rows = path.read_text(encoding="utf-8").splitlines()
    places = [f"{row},{one}" for row, one in zip(rows, of_sites, strict=True)]
    path.write_text("\n".join([f"{head},language", *places, ""]), encoding="utf-8")


def test_without_a_word_about_it_everything_is_in_british_english(folder):
    network = load_network(folder)
    assert network.language == "en-GB"
    assert {network.language_of(site_id) for site_id in network.sites} == {"en-GB"}


def test_a_site_speaks_its_own_language_or_the_groups_and_readers_that_of_their_pages(folder):
    declare(folder, "de", ("fr", ""))
    network = load_network(folder)

    spoken = {site_id: network.language_of(site_id) for site_id in network.sites}
    first, second = network.sites
    assert spoken == {first: "fr", second: "de"}
    assert network.language_of("a-site-that-has-left") == "de"
    assert {one.address.split("@")[0]: one.language for one in network.recipients} == {
        "all": "de",
        "quay": spoken["gannet-quay"],
        "bay": spoken["umber-bay"],
        "us": "en-US",
    }


@pytest.mark.parametrize(
    ("declared", "language"), [*((one, one) for one in LANGUAGES), ("en", "en-GB")]
)
def test_each_language_that_has_words_may_be_declared(folder, declared, language):
    declare(folder, declared)
    assert load_network(folder).language == language


def test_a_language_without_words_is_told_with_those_that_have_some(folder):
    declare(folder, "nl", ("de-DE", ""))
    with pytest.raises(ConfigurationError) as caught:
        load_network(folder)
    known = ", ".join(LANGUAGES)
    assert f'network.toml: group: language is "nl"; write one of: {known}.' in str(caught.value)
    assert f'line 2: language is "de-DE"; write one of: {known}.' in str(caught.value)


def test_another_language_does_not_stage_the_logs_again(folder):
    before = load_network(folder).fingerprint
    declare(folder, "de", ("fr", "es"))
    assert load_network(folder).fingerprint == before
