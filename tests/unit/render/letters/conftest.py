"""Tables for letters, some of them invented, and letters as text."""

import re
from dataclasses import replace
from datetime import date

import pytest

from pipeline.render.tables.tables import Tables

AS_OF = date(2026, 10, 31)


class Invented(Tables):
    """Tables of a network that was never run, with what a test asks for put in their place."""

    def __init__(self, tables: Tables, **given: object) -> None:
        self.__dict__.update(tables.__dict__)
        self.__dict__.update(given)


@pytest.fixture(scope="session")
def invented():
    return Invented


@pytest.fixture
def untidy(con, group) -> Tables:
    """The network as it is: one of its checks could not run."""
    return Tables(con, group, AS_OF)


@pytest.fixture
def tables(untidy) -> Tables:
    return Invented(untidy, checks=[replace(one, verdict="pass") for one in untidy.checks])


@pytest.fixture(scope="session")
def html_text():
    def text(html: str) -> str:
        body = html.split("<body", 1)[1]
        text = re.sub(r"<[^>]+>", " ", f"<body{body}")
        for entity, sign in (("&lt;", "<"), ("&gt;", ">"), ("&#34;", '"'), ("&#39;", "'"),
                             ("&nbsp;", " "), ("&amp;", "&")):  # fmt: skip
            text = text.replace(entity, sign)
        return " ".join(text.split())

    return text


@pytest.fixture(scope="session")
def numbers():
    return lambda text: re.findall(r"\d[\d,.]*", text)
