-- page.rule
-- One row for each rule of a practice profile that is in force on the as-of day or will be.
-- key: practice, place
--
-- past_on   of a rule on records: those of this day and before need no longer be kept; a year from
--           29 February ends on 1 March. Null for other rules, and for what the unit's life decides
SELECT
    rule.practice,
    rule.place,
    rule.section,
    rule.what,
    rule.asks,
    rule.who,
    nullif(rule.valid_from, DATE '0001-01-01') AS valid_from,
    rule.valid_to,
    CASE retention.keep
        WHEN 'calendar_years' THEN make_date(year($to_on - 1) - retention.years - 1, 12, 31)
        WHEN 'years_from_record' THEN ($to_on - 2 - to_years(retention.years))::DATE
    END AS past_on,
    rule.source,
    rule.confidence,
FROM practice.rule AS rule
LEFT JOIN practice.retention_rule AS retention
    ON retention.practice = rule.practice
    AND rule.rule = concat('retention/', retention.record)
    AND retention.valid_from = rule.valid_from
WHERE rule.valid_to IS NULL OR rule.valid_to >= $to_on
ORDER BY rule.practice, rule.place
