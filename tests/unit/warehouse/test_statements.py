"""The files of sql/: each says what it makes, and runs after what it reads."""

import re

import pytest

from pipeline.base.assets import asset
from pipeline.warehouse.build import prepare
from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.statements import in_order, statements, tables_read

SCHEMAS = sorted(path.name for path in asset("sql").iterdir() if any(path.glob("*.sql")))
FILES = [one for schema in SCHEMAS for one in statements(schema)]
MADE_IN = {"result": "measure"}
"""A folder makes the tables of the schema of its name; sql/measure/ holds the measures' own SQL."""


@pytest.fixture
def con():
    with open_memory() as con:
        prepare(con)
        yield con


@pytest.mark.parametrize("statement", FILES, ids=lambda one: one.table)
def test_a_statement_says_its_table_its_grain_and_its_key(statement):
    lines = statement.header.splitlines()
    schema = MADE_IN.get(statement.schema, statement.schema)
    assert lines[0] == f"-- {schema}.{statement.name}"
    assert lines[1].startswith("-- ")
    assert statement.header_value("key")


@pytest.mark.parametrize("statement", FILES, ids=lambda one: one.table)
def test_a_statement_divides_only_by_what_cannot_be_zero(statement):
    code = re.sub(r"--.*|'[^']*'", "", statement.text)
    assert not re.search(r"/(?!/|\s*(nullif|\d|greatest))", code), "guard the division with nullif"


def test_a_model_table_is_built_after_the_tables_it_reads(con):
    order = [one.table for one in in_order(con, "model")]
    for one in statements("model"):
        for read in tables_read(con, one.text) & set(order):
            assert order.index(read) < order.index(one.table)


def test_a_name_in_a_comment_or_a_text_is_not_a_table_that_is_read(con):
    select = "SELECT 'FROM model.cycle' AS text FROM stage.file -- FROM model.unit"
    assert tables_read(con, select) == {"stage.file"}


def test_a_table_named_only_inside_a_subquery_is_read(con):
    select = "SELECT 1 WHERE EXISTS (SELECT 1 FROM model.unit WHERE unit_serial = $one)"
    assert tables_read(con, select) == {"model.unit"}
