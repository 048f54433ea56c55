import json

import pytest

from pipeline.base.errors import Exit
from pipeline.base.phrases import phrase
from pipeline.cli.main import main
from pipeline.practice.shelf import all_profiles


def test_without_a_name_every_profile_is_listed_with_its_title(tmp_path, capsys):
    assert main(["profile", "--folder", str(tmp_path)]) == Exit.DONE
    lines = capsys.readouterr().out.splitlines()

    assert [line.split()[0] for line in lines] == list(all_profiles())
    assert [line.split()[0] for line in lines if "for other profiles to inherit" in line] == [
        "care-of-units"
    ]


@pytest.mark.parametrize("name", all_profiles())
def test_every_rule_is_printed_with_its_source_and_how_sure_it_is(name, tmp_path, capsys):
    assert main(["profile", name, "--folder", str(tmp_path)]) == Exit.DONE
    told = capsys.readouterr().out
    words = " ".join(told.split())

    for rule in all_profiles()[name].rules:
        sure = phrase(f"confidence.{rule.confidence}")
        assert f"{rule.source} [{sure}; {rule.declared_by}]" in words
    assert all(len(line) <= 100 for line in told.splitlines())


def test_what_is_less_than_inherited_is_said_first(tmp_path, capsys):
    main(["profile", "us-oregon-dental", "--folder", str(tmp_path)])
    words = " ".join(capsys.readouterr().out.split())

    assert (
        'less than "Weekly spore test". Routine spore test: in each calendar week of use, which '
        "begins on Sunday; a result is late after 14 days; instead of: at least every 7 days"
    ) in words
    assert words.index("Reason: The state's rule") < words.index("Spore tests")


def test_a_record_of_a_day_is_kept_as_long_as_the_rule_asks(tmp_path, capsys):
    """Source: Oregon Administrative Rules 818-012-0040(2), current and two preceding (read)."""
    folder = ["--folder", str(tmp_path)]
    assert (
        main(["profile", "us-oregon-dental", *folder, "--recorded-on", "2023-03-15"]) == Exit.DONE
    )
    words = " ".join(capsys.readouterr().out.split())

    assert "calendar year and 2 more; one of 2023-03-15 is kept to 2025-12-31" in words


def test_what_counts_is_said_beside_the_rules_on_spore_tests(tmp_path, capsys):
    main(["profile", "uk-dental", "--folder", str(tmp_path)])
    words = " ".join(capsys.readouterr().out.split())

    assert "Only a valid negative counts and resets a clock: no growth, control grown" in words


def test_a_profile_for_machines_has_every_rule_in_words_and_in_figures(tmp_path, capsys):
    assert main(["profile", "us-florida-dental", "--folder", str(tmp_path), "--json"]) == Exit.DONE
    record = json.loads(capsys.readouterr().out)

    assert len(record["rules"]) == len(all_profiles()["us-florida-dental"].rules)
    assert record["parents"] == ["us-cdc-dental", "weekly", "care-of-units"]
    (rule,) = (one for one in record["rules"] if one["rule"] == "spore/routine")
    assert rule["asks"].startswith("at least every 2,400 minutes of running or 30 days")
    assert (rule["figures"]["minutes"], rule["figures"]["days"]) == (2400, 30)
    assert rule["confidence"] == "reported"
    (less,) = record["loosenings"]
    assert less["ancestor_asks"].startswith("at least every 7 days")


def test_the_names_for_machines_are_a_list(tmp_path, capsys):
    main(["profile", "--folder", str(tmp_path), "--json"])
    assert json.loads(capsys.readouterr().out) == list(all_profiles())


def test_a_profile_of_the_folder_is_printed_with_the_days_of_its_rules(tmp_path, capsys):
    (tmp_path / "practice").mkdir()
    (tmp_path / "practice" / "our-rule.toml").write_text(
        """
        title = "Our rule"
        asks = "More from March on."
        jurisdiction = "ours"
        reviewed_on = 2026-02-01
        inherits = "weekly"
        [[spore]]
        kind = "interval_days"
        days = 5
        valid_from = 2026-03-01
        source = "our own decision"
        confidence = "policy"
        """,
        encoding="utf-8",
    )
    assert main(["profile", "our-rule", "--folder", str(tmp_path)]) == Exit.DONE
    words = " ".join(capsys.readouterr().out.split())

    assert "at least every 7 days; a result is late after 14 days (until 2026-03-01)" in words
    assert "at least every 5 days; a result is late after 14 days (from 2026-03-01)" in words
    assert "our own decision [the group's own decision; our-rule]" in words


def test_a_name_that_is_none_is_told_with_what_was_meant(tmp_path, capsys):
    assert main(["profile", "wekly", "--folder", str(tmp_path)]) == Exit.CONFIGURATION
    assert capsys.readouterr().err == (
        'There is no practice profile "wekly". Did you mean "weekly"?\n'
    )
