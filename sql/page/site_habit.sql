-- page.site_habit
-- One row for each site, kind of act and role: whether tasks and tests are getting later.
-- key: site_id, act, role
SELECT
    site_id,
    act,
    role,
    interval_count,
    late_count,
    lateness_slope,
    lateness_low,
    lateness_high,
    lately_share,
    before_share,
    state,
FROM measure.site_habit
ORDER BY site_id, act, role
