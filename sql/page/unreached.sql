-- page.unreached
-- One row for each reader whom a letter did not reach, the latest first. What the server said stays in
-- the ledger, as it may name hosts.
-- key: letter_id, recipient, state, told_on
SELECT
    period,
    level,
    subject_id,
    recipient,
    state,
    told_on,
FROM register.unreached
ORDER BY told_on DESC, period DESC, level, subject_id, recipient, state, letter_id
