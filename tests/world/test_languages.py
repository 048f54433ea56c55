"""A whole network in each language: declared, run, and every page and letter read for English."""

import re

from pipeline.base.errors import Exit
from pipeline.base.phrases import words
from pipeline.cli.main import main
from pipeline.config.load import load_network
from pipeline.run import run
from tests.unit.base.test_words import WHOLE, flat, texts_of
from tests.unit.render.test_languages import QUOTING, text_of


def pieces_of(spoken: str) -> dict[str, str]:
    """What stands between the blanks of English phrases that the language says otherwise."""
    theirs = dict(flat(words(spoken)))
    found = {}
    for name, entry in flat(words()):
        for there, here in zip(texts_of(entry), texts_of(theirs[name]), strict=True):
            if there != here and name.partition(".")[0] not in ("confidence", "rule"):
                found |= {part.strip(" .,;:"): name for part in re.split(r"\{\w+\}", there)}
    return {piece: name for piece, name in found.items() if len(piece) > 20}


def test_a_network_speaks_another_language_without_staging_a_line_again(
    ran, ran_folder, ends_on, now_utc, capsys
):
    folder, first = ran_folder, ran[1]
    english = {path.name for path in (folder / "pages" / "latest").glob("*.html")}
    declared = (folder / "network.toml").read_text(encoding="utf-8")
    for spoken in WHOLE:
        (folder / "network.toml").write_text(
            declared.replace("[group]\n", f'[group]\nlanguage = "{spoken}"\n'), encoding="utf-8"
        )
        again = run(load_network(folder), ends_on, now_utc)
        assert (again.new_files, again.used) == (0, 0) != (first.new_files, first.used)
        latest = folder / "pages" / "latest"
        assert {path.name for path in latest.glob("*.html")} == english
        pieces = pieces_of(spoken)
        for path in sorted([*latest.glob("*.html"), *latest.glob("letters/*.txt")]):
            text = path.read_text(encoding="utf-8")
            assert path.suffix != ".html" or f'<html lang="{spoken}">' in text
            if path.name != QUOTING:
                read = text_of(text) if path.suffix == ".html" else text
                assert [piece for piece in pieces if piece in read] == [], path.name
    # What is asked for in a terminal speaks the language of the network too.
    finding = min(latest.glob("finding-*.html")).stem.removeprefix("finding-")
    for command in (["due"], ["explain", finding], ["explain", "stopped_all/network/network"]):
        assert main([*command, "--folder", str(folder)]) == Exit.DONE
        told = capsys.readouterr().out
        assert len(told) > 200
        assert [piece for piece in pieces if piece in told] == [], command
        assert words(spoken)["cautions"]["short"][1] in told or command == ["due"]
