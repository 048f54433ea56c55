"""Every language says all that words.toml says: the same blanks, its own forms, no less force."""

import json
import re
import string
import tomllib
from collections.abc import Iterator
from typing import Any

import pytest

from pipeline.base.assets import asset
from pipeline.base.language import LANGUAGES, ORIGINAL, speaking
from pipeline.base.phrases import declared, known, phrase, words

WHOLE = ("de", "fr", "es")
"""Languages with every word of their own; American English only says what it spells otherwise."""
DECLARED = ("measure", "feature", "owner", "profile", "program_table", "check")
"""Tables for what other files declare in British English."""

SAME = {
    "de": "Name Region Rate Test Tests",
    "fr": "Validation validation installation routine requalification cycles cycle Cycles Cycle "
    "Signatures Signature Date sites Sites Site Source Test Tests Lot Verdict Altitude IMPLANTS "
    "Notes",
    "es": "no",
}
"""Words that a language has in common with English, and may; elsewhere they were forgotten."""


def flat(table: dict[str, Any], before: str = "") -> Iterator[tuple[str, Any]]:
    """Name and text of each phrase; a list counts as its entries, forms as one entry."""
    for key, entry in table.items():
        name = f"{before}{key}"
        if isinstance(entry, list):
            yield from flat({str(place): one for place, one in enumerate(entry)}, f"{name}.")
        elif isinstance(entry, dict) and "other" not in entry:
            yield from flat(entry, f"{name}.")
        else:
            yield name, entry


def own(spoken: str) -> dict[str, Any]:
    path = asset("reports", f"words.{spoken}.toml")
    return dict(flat(tomllib.loads(path.read_text(encoding="utf-8"))))


def texts_of(entry: Any) -> list[str]:
    return list(entry.values()) if isinstance(entry, dict) else [entry]


def blanks(entry: Any) -> set[str]:
    fields = (string.Formatter().parse(text) for text in texts_of(entry))
    return {field for parts in fields for _, field, _, _ in parts if field is not None}


ENGLISH = dict(flat(words()))


def test_the_original_is_read():
    assert len(ENGLISH) > 1500
    assert ENGLISH["news.drifting"]["one"] == "1 unit is drifting."


@pytest.mark.parametrize("spoken", WHOLE)
def test_a_language_has_every_phrase_and_none_of_its_own(spoken):
    theirs = own(spoken)
    assert sorted(ENGLISH.keys() - theirs.keys()) == []
    assert sorted(n for n in theirs.keys() - ENGLISH if n.split(".")[0] not in DECLARED) == []


def test_american_english_changes_only_what_is_there():
    assert all(
        name in ENGLISH or name.split(".")[0] in DECLARED or name == "finding.drift.shared.other"
        for name in own("en-US")
    )


@pytest.mark.parametrize("spoken", WHOLE)
def test_a_phrase_has_the_same_blanks_in_every_language(spoken):
    theirs = own(spoken)
    # A form may say "1" where the number is known, so {n} may be there or not.
    wrong = [n for n, entry in ENGLISH.items() if (blanks(entry) ^ blanks(theirs[n])) - {"n"}]
    filled = [n for n, e in theirs.items() if isinstance(e, str) and n in ENGLISH]
    wrong += [name for name in filled if "n" in blanks(theirs[name]) - blanks(ENGLISH[name])]
    assert wrong == []


@pytest.mark.parametrize("spoken", WHOLE)
def test_a_phrase_has_the_forms_that_its_language_needs(spoken):
    theirs = own(spoken)
    for name, entry in ENGLISH.items():
        if not isinstance(entry, dict):
            assert isinstance(theirs[name], str), name
            continue
        # French and Spanish have a form for whole millions too; "other" serves for it.
        assert {"one", "other"} <= theirs[name].keys() <= {"none", "one", "other"}, name
        assert ("none" in theirs[name]) == ("none" in entry), name


@pytest.mark.parametrize("spoken", WHOLE)
def test_a_number_that_is_not_one_never_reads_as_one(spoken):
    with speaking(spoken):
        for name, entry in ENGLISH.items():
            if isinstance(entry, dict) and "{n}" in entry["other"]:
                filled = dict.fromkeys(blanks(entry) - {"n"}, "")
                said = phrase(name, 7, **filled)
                assert "7" in said and not re.search(r"\b1\b(?! (von|sur|de|in|of))", said), name
                if "none" not in entry:
                    assert "0" in phrase(name, 0, **filled), name


@pytest.mark.parametrize("spoken", WHOLE)
def test_no_phrase_is_english_by_accident(spoken):
    theirs, allowed = own(spoken), set(SAME[spoken].split())
    for name, entry in ENGLISH.items():
        for there, here in zip(texts_of(entry), texts_of(theirs[name]), strict=True):
            plain = set(re.findall(r"[A-Za-z]{2,}", re.sub(r"\{\w+\}", " ", there)))
            if there == here and name not in ("explain.command", "program.prion_18"):
                assert plain <= allowed, (name, here)


@pytest.mark.parametrize("spoken", WHOLE)
def test_signs_are_those_of_the_language(spoken):
    """Source: DIN 5008 for German; Lexique de l'Imprimerie nationale; Real Academia Española."""
    for name, entry in own(spoken).items():
        for text in texts_of(entry):
            # What is to be written into a file of ours is quoted as TOML has it.
            assert '"' not in re.sub(r'\w+ = "\w+"', "", text), (name, text)
            if spoken == "fr":
                assert not re.search(r"[\w)] [;:!?»]|« ", text), (name, text)
            if spoken == "de":
                assert text.count("„") == text.count("“"), (name, text)
            if spoken == "es":
                assert text.count("?") == text.count("¿") and text.count("!") == text.count("¡")


def declared_words() -> Iterator[tuple[str, str]]:
    """Name and English of each text that another file declares."""
    for path in sorted(asset("sql", "measure").glob("*.toml")):
        told = tomllib.loads(path.read_text(encoding="utf-8"))
        for field in ("title", "numerator", "denominator", "why", "fix"):
            yield f"measure.{path.stem}.{field}", told[field]
        yield f"owner.{told['owner']}", told["owner"]
    features = asset("sql", "fact", "wear_week.toml").read_text(encoding="utf-8")
    for feature, told in tomllib.loads(features).items():
        for field in ("title", "why", "fix"):
            yield f"feature.{feature}.{field}", told[field]
    for path in sorted(asset("expectations", "data").glob("*.json")):
        for one in json.loads(path.read_text(encoding="utf-8"))["expectations"]:
            for field in ("title", "why", "fix"):
                yield f"check.{one['meta']['id']}.{field}", one["meta"][field]
    for table, folder in (("profile", ()), ("program_table", ("programs",))):
        for path in sorted(asset("expectations", "practice", *folder).glob("*.toml")):
            told = tomllib.loads(path.read_text(encoding="utf-8"))
            yield f"{table}.{path.stem}.title", told["title"]


@pytest.mark.parametrize("spoken", WHOLE)
def test_what_other_files_declare_has_words_and_nothing_else_has(spoken):
    texts = dict(declared_words())
    assert len(texts) > 400
    theirs = {n for n in own(spoken) if n.split(".")[0] in DECLARED and n not in ENGLISH}
    assert sorted(texts.keys() - theirs) == []
    left = {name for name in theirs - texts.keys() if not name.startswith("owner.")}
    assert sorted(left) == []


# Each caution by its name, and what must stand in it in each language: negations, "never", and who
# decides or what goes first.
CAUTIONS = """
cautions.short.0
    de: niemals + erklärt nichts für steril
    fr: jamais + ne déclare rien stérile
    es: nunca + no declara nada estéril
cautions.short.1
    de: nie als bestanden
    fr: ne valent jamais
    es: nunca es un resultado conforme
cautions.short.2
    de: örtliche Vorschriften + Vorrang + zugelassene
    fr: règles locales + priment + habilités
    es: normas locales + prevalecen + habilitado
cautions.full.0
    de: Kein Bericht + ersetzt
    fr: Aucun rapport + ne remplace
    es: Ningún informe + ni sustituye
cautions.full.1
    de: nicht kamen, sind keine gute
    fr: ne sont pas de bonnes
    es: no son buenas
cautions.full.2
    de: zugelassene Fachperson + Behörden über Rückrufe
    fr: praticien légalement habilité + autorités décident
    es: profesional habilitado + autoridades deciden
cautions.full.3
    de: Örtliches Recht + Vorrang
    fr: droit local + priment
    es: ley local + prevalecen
cautions.full.6
    de: weder + noch + befähigte Personen
    fr: n’autorise ni + ni + personnes compétentes
    es: no autoriza + ni a + personas competentes
cautions.full.7
    de: niemandem die Schuld + Keine Person
    fr: n’accusent personne + Aucune personne
    es: no culpan a nadie + No se clasifica a ninguna
cautions.full.11
    de: nicht das Archiv
    fr: n’est pas l’archive
    es: no es el archivo
finding.cycle_broken.next_step
    de: auch wenn + zugelassene Fachperson
    fr: même si + légalement habilitée décide
    es: aunque + habilitación
lookback.decides
    de: entscheidet nichts + zugelassene Fachperson entscheidet
    fr: ne décide rien + légalement habilitée décide
    es: no decide nada + habilitación
finding_page.decides
    de: gibt keine Charge frei + Mensch entscheidet
    fr: ne libère aucune charge + personne décide
    es: no libera ninguna carga + Decide una persona
watch.caution
    de: keine Erlaubnis
    fr: n’est pas une autorisation
    es: no es un permiso
coverage.pending_below
    de: kein Ergebnis
    fr: n’est pas un résultat
    es: no es un resultado
unseen.untold.other
    de: nicht als bestanden
    fr: pas
    es: no
calendar.caution
    de: Örtliche Vorschriften + mehr verlangen
    fr: règles locales + exiger davantage
    es: normas locales + pedir más
due.note
    de: örtliche Vorschriften + mehr
    fr: règles locales + davantage
    es: normas locales + más
pack.prepared
    de: keine Charge frei
    fr: ne libère
    es: no libera
"""


def cautions() -> list[tuple[str, str, list[str]]]:
    """Name, language and marks of each line of the table."""
    found, name = [], ""
    for line in CAUTIONS.strip().splitlines():
        if not line.startswith(" "):
            name = line
            continue
        spoken, _, marks = line.strip().partition(": ")
        found.append((name, spoken, marks.split(" + ")))
    return found


def test_the_table_of_cautions_has_every_language():
    names = {name for name, _, _ in cautions()}
    assert len(names) > 15
    assert {(name, spoken) for name, spoken, _ in cautions()} == {
        (name, spoken) for name in names for spoken in WHOLE
    }


@pytest.mark.parametrize(("name", "spoken", "marks"), cautions())
def test_a_caution_keeps_its_negation_and_who_decides(name, spoken, marks):
    entry: Any = words(spoken)
    for part in name.split("."):
        entry = entry[int(part)] if isinstance(entry, list) else entry[part]
    for mark in marks:
        assert mark.casefold() in entry.casefold()


def test_no_caution_is_weakened_in_american_english():
    assert words("en-US")["cautions"] == words()["cautions"]


def test_words_come_in_the_language_in_force_and_english_stands_in_for_none():
    said = {}
    for spoken in LANGUAGES:
        with speaking(spoken):
            said[spoken] = (phrase("number.days", 1635), known("stop_family", "not_known"))
            assert known("stop_family", "a_word_of_ours") == "a word of ours"
            assert declared("measure.not_there.title", "As declared") == "As declared"
    assert said[ORIGINAL] == said["en-US"] == ("1,635 days", "not known")
    assert len(set(said.values())) == 4
    assert said["de"][0] == "1.635 Tage"


def test_french_says_none_as_one_and_never_one_for_none():
    with speaking("fr"):
        assert phrase("number.days", 0).startswith("0 jour")
        assert phrase("number.days", 1).startswith("1 jour")
        assert not phrase("number.days", 1).startswith("1 jours")
        assert phrase("number.days", 2) == "2 jours"
