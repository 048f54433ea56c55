"""The page of a unit says when lines about tests of its missed weeks were held, and which."""


def test_a_missed_week_whose_test_was_held_leads_to_the_line(read):
    (page,) = [one for name, one in read.items() if name.startswith("unit-S-2")]

    assert "1 line about a test of a week not tested on time was held" in page.text
    assert "logs/script/test-2026.csv, line 9,101" in page.text
    assert "site-script.html#mend" in page.links()
    assert "mend" in read["site-script.html"].ids()
    for line in ("9,102", "9,103", "9,104"):
        assert line not in page.text


def test_other_pages_say_nothing_of_it(read):
    told = [name for name, one in read.items() if "week not tested on time was held" in one.text]
    assert len(told) == 1
