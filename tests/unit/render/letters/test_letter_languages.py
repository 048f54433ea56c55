"""A letter in its reader's language: the same figures, and the cautions with all their force."""

import json
from dataclasses import replace

import pytest

from pipeline.base.language import LANGUAGES, ORIGINAL, speaking
from pipeline.base.letter import INDEX, PICTURE, read_letters
from pipeline.base.letter import write_letters as write_files
from pipeline.base.phrases import listed
from pipeline.config.recipients import Recipient
from pipeline.deliver.outbox import readers_of
from pipeline.render.letters import MOST_BYTES, letters, watch_letter, write_letters
from pipeline.render.tables.tables import Tables
from tests.unit.render.conftest import AS_OF
from tests.unit.render.test_languages import values

OTHERS = tuple(spoken for spoken in LANGUAGES if spoken != ORIGINAL)


def reader(spoken: str, role: str = "group", scope: str = "") -> Recipient:
    address = f"{spoken.lower()}@saltmarsh.example"
    return Recipient(address, role, scope, "Europe/London", language=spoken)


@pytest.fixture
def of_all(tables, invented):
    """A letter to the group in every language."""
    network = replace(tables.network, recipients=tuple(map(reader, LANGUAGES)))
    return {
        letter.language: letter
        for letter in letters(invented(tables, network=network))
        if letter.level == "network"
    }


def test_a_scope_has_a_letter_in_each_language_of_its_readers_and_pages(of_all):
    assert [(letter.name, spoken) for spoken, letter in of_all.items()] == [
        ("group", "en-GB"),
        ("group.de", "de"),
        ("group.en-US", "en-US"),
        ("group.es", "es"),
        ("group.fr", "fr"),
    ]


@pytest.mark.parametrize("spoken", OTHERS)
def test_a_letter_carries_the_same_numbers_in_every_language(of_all, html_text, spoken):
    there, here = of_all[ORIGINAL], of_all[spoken]
    assert here.figures == there.figures and here.is_hollow is there.is_hollow is False
    numbers = sorted(values(here.text, spoken))
    assert numbers == sorted(values(there.text, ORIGINAL))
    assert len(numbers) > 60
    # Thin blanks between thousands are blanks to whoever takes words apart.
    html = html_text(here.html.replace("\N{NARROW NO-BREAK SPACE}", "\N{WORD JOINER}"))
    html = html.replace("\N{WORD JOINER}", "\N{NARROW NO-BREAK SPACE}")
    assert values(html, spoken) == values(here.text, spoken)


@pytest.mark.parametrize("spoken", OTHERS)
def test_a_letter_carries_the_cautions_in_its_language(of_all, html_text, spoken):
    letter = of_all[spoken]
    with speaking(spoken):
        cautions = listed("cautions.short")
    for text in (" ".join(letter.text.split()), html_text(letter.html)):
        for caution in cautions:
            assert " ".join(caution.split()) in text
    assert f'<html lang="{spoken}">' in letter.html
    assert len(letter.html.encode()) < MOST_BYTES


def test_a_reader_gets_the_letter_in_the_language_declared_and_no_other(of_all):
    everybody = [reader(spoken) for spoken in LANGUAGES]
    for spoken, letter in of_all.items():
        assert readers_of(letter, everybody) == [reader(spoken)]


def test_letters_and_lists_of_findings_lie_beside_one_another(con, group, tmp_path):
    network = replace(group, recipients=(reader("de"),), language="fr")
    write_letters(Tables(con, network, AS_OF), tmp_path)
    assert json.loads((tmp_path / INDEX).read_text())[0]["language"] == "fr"
    spoken = {letter.name: letter.language for letter in read_letters(tmp_path)}
    assert spoken == {
        "group": "fr", "group.de": "de", "region-outer-banks": "fr", "region-the-levels": "fr",
    }  # fmt: skip
    french, german = (
        (tmp_path / f"{name}.csv").read_text(encoding="utf-8").splitlines()
        for name in ("group", "group.de")
    )
    assert [line.split(",")[:4] for line in french] == [line.split(",")[:4] for line in german]
    assert french[0] == german[0] and french[1:] != german[1:]


def test_the_letter_of_a_site_speaks_the_language_of_its_pages(tables, invented):
    site = replace(tables.network.sites["script"], language="es")
    sites = tables.network.sites | {"script": site}
    told = reader("es", "site", "script")
    network = replace(tables.network, sites=sites, recipients=(told,))
    letter = letters(invented(tables, network=network))[-1]
    assert (letter.name, letter.language, letter.subject_id) == ("site-script", "es", "script")
    assert "octubre de 2026" in letter.subject


def test_the_letter_of_a_day_comes_in_the_language_in_force(tables):
    ids = {row.finding_id for row in tables.findings if row.state == "act_now"}
    with speaking("de"):
        german = watch_letter(tables, "network", "network", ids, "2026-10-31")
    english = watch_letter(tables, "network", "network", ids, "2026-10-31")
    assert (german.language, english.language) == ("de", "en-GB")
    assert sorted(values(german.text, "de")) == sorted(values(english.text, ORIGINAL))
    assert "Jetzt handeln" in german.subject and "Act now" not in german.text


def test_only_the_letter_of_who_asked_has_a_picture_and_it_is_read_back(tables, invented, tmp_path):
    asked = replace(reader("de"), has_images=True)
    network = replace(tables.network, recipients=(asked, reader("fr"), reader("en-GB")))
    made = {one.name: one for one in letters(invented(tables, network=network))}
    with_picture = [name for name, letter in made.items() if letter.picture]
    assert with_picture == ["group.de"]
    german = made["group.de"]
    assert german.html.count(PICTURE) == 1 and PICTURE not in made["group"].html
    assert german.picture_alt and len(german.html) + len(german.picture) < MOST_BYTES
    write_files(tmp_path, list(made.values()))
    assert {letter.name: letter for letter in read_letters(tmp_path)} == made


def test_letters_of_an_edition_from_before_there_were_languages_are_read(tables, tmp_path):
    made = letters(tables)
    write_files(tmp_path, made)
    index = tmp_path / INDEX
    told = json.loads(index.read_text(encoding="utf-8"))
    for one in told:
        del one["language"], one["picture_alt"]
    index.write_text(json.dumps(told), encoding="utf-8")
    assert read_letters(tmp_path) == made
