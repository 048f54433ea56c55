"""Names, in the message of a held line, the known unit whose serial is one slip of the pen away.

A suggestion for a person: no line is ever given to another unit than it names.
"""

import duckdb

_LOOK_ALIKES = str.maketrans("OISB", "0158")
_MOST_NAMED = 3


def suggest_serials(con: duckdb.DuckDBPyConnection, table: str) -> None:
    """Add to new held lines with an unknown serial the units of their site that it may mean."""
    unknown = con.execute(
        """
        SELECT DISTINCT file.site_id, held.found,
        FROM stage.held AS held
        JOIN stage.file AS file USING (file_id)
        WHERE held.table_name = $table
            AND held.column_name = 'unit_serial'
            AND held.found NOT IN (SELECT unit_serial FROM register.assignment)
            AND held.file_id IN (FROM new_file)
        ORDER BY ALL
        """,
        {"table": table},
    ).fetchall()
    known: dict[str, list[str]] = dict(
        con.execute(
            """
            SELECT site_id, list(DISTINCT unit_serial ORDER BY unit_serial),
            FROM register.assignment
            GROUP BY site_id
            """
        ).fetchall()
    )
    for site_id, found in unknown:
        near = [one for one in known.get(site_id, []) if is_one_slip(found, one)]
        if not near:
            continue
        if table == "test" and len(near) == 1:
            _tell_apart(con, site_id, found, near[0])
        con.execute(
            """
            UPDATE stage.held
            SET message = concat(message, $suggestion::VARCHAR)
            WHERE table_name = $table
                AND column_name = 'unit_serial'
                AND found = $found
                AND file_id IN (FROM new_file)
                AND file_id IN (SELECT file_id FROM stage.file WHERE site_id = $site_id)
            """,
            {"suggestion": _sentence(near), "table": table, "found": found, "site_id": site_id},
        )


def _tell_apart(con: duckdb.DuckDBPyConnection, site_id: str, found: str, meant: str) -> None:
    """Let held tests be found from the page of the only unit that can be meant."""
    con.execute(
        """
        UPDATE stage.held_test
        SET unit_serial = $meant
        WHERE unit_serial = $found
            AND file_id IN (FROM new_file)
            AND file_id IN (SELECT file_id FROM stage.file WHERE site_id = $site_id)
        """,
        {"meant": meant, "found": found, "site_id": site_id},
    )


def is_one_slip(written: str, meant: str) -> bool:
    """Whether the two differ, and by one slip: look-alike letters, or one mistake in typing.

    The mistakes are two neighbours exchanged, and a character too many or too few. One digit for
    another is none of them: the serials of units bought together differ by just that.
    """
    if written == meant:
        return False
    one, other = (text.strip().upper() for text in (written, meant))
    if one.translate(_LOOK_ALIKES) == other.translate(_LOOK_ALIKES):
        return True
    if len(one) == len(other):
        return _is_exchanged(one, other)
    shorter, longer = sorted((one, other), key=len)
    return len(longer) == len(shorter) + 1 and any(
        longer[:at] + longer[at + 1 :] == shorter for at in range(len(longer))
    )


def _is_exchanged(one: str, other: str) -> bool:
    at = [index for index, (a, b) in enumerate(zip(one, other, strict=True)) if a != b]
    return (
        len(at) == 2
        and at[1] == at[0] + 1
        and one[at[0]] == other[at[1]]
        and one[at[1]] == other[at[0]]
    )


def _sentence(near: list[str]) -> str:
    named = " and ".join(near[:_MOST_NAMED])
    more = f" and {len(near) - _MOST_NAMED} more" if len(near) > _MOST_NAMED else ""
    return f" One slip away from {named}{more}, of this site: correct the line if that is meant."
