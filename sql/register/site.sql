-- register.site
-- One row for each site of sites.csv, as read at the start of this run.
-- key: site_id
--
-- altitude_m   above sea level; settles gauge pressures
-- closed_on    first day on which the site is no longer open; null while it is
-- owner        who answers for the site's findings; null when nobody is named
CREATE TABLE IF NOT EXISTS register.site (
    site_id VARCHAR NOT NULL,
    name VARCHAR NOT NULL,
    region VARCHAR NOT NULL,
    time_zone VARCHAR NOT NULL,
    altitude_m DOUBLE NOT NULL,
    practice VARCHAR NOT NULL,
    opened_on DATE NOT NULL,
    closed_on DATE,
    owner VARCHAR,
)
