-- Sums for questions over long times: narrower than those of ExposureLog.sql, by whole months and years. docs/records.md explains every table.
CREATE TABLE log_day_totals (
  site integer NOT NULL,
  day integer NOT NULL,
  shift smallint NOT NULL,
  age_group smallint NOT NULL,
  outcome smallint NOT NULL,
  month integer NOT NULL,
  n bigint NOT NULL,
  repeats bigint NOT NULL,
  tests bigint NOT NULL,
  kap_n bigint NOT NULL,
  kap_micro bigint NOT NULL,
  PRIMARY KEY (site, day, shift, age_group, outcome)
) WITH (fillfactor = 80);

CREATE TABLE log_month_projections (
  site integer NOT NULL,
  month integer NOT NULL,
  projection integer NOT NULL,
  age_group smallint NOT NULL,
  outcome smallint NOT NULL,
  n bigint NOT NULL,
  repeats bigint NOT NULL,
  tests bigint NOT NULL,
  kap_n bigint NOT NULL,
  kap_micro bigint NOT NULL,
  PRIMARY KEY (site, month, projection, age_group, outcome)
) WITH (fillfactor = 80);

CREATE TABLE log_month_performer_totals (
  site integer NOT NULL,
  month integer NOT NULL,
  performer integer NOT NULL,
  outcome smallint NOT NULL,
  n bigint NOT NULL,
  repeats bigint NOT NULL,
  tests bigint NOT NULL,
  kap_n bigint NOT NULL,
  kap_micro bigint NOT NULL,
  PRIMARY KEY (site, month, performer, outcome)
) WITH (fillfactor = 80);

CREATE TABLE log_month_rooms (
  site integer NOT NULL,
  month integer NOT NULL,
  room integer NOT NULL,
  receptor integer NOT NULL,
  shift smallint NOT NULL,
  age_group smallint NOT NULL,
  outcome smallint NOT NULL,
  n bigint NOT NULL,
  repeats bigint NOT NULL,
  tests bigint NOT NULL,
  kap_n bigint NOT NULL,
  kap_micro bigint NOT NULL,
  PRIMARY KEY (site, month, room, receptor, shift, age_group, outcome)
) WITH (fillfactor = 80);

CREATE TABLE log_year_performer_rooms (
  site integer NOT NULL,
  year integer NOT NULL,
  performer integer NOT NULL,
  room integer NOT NULL,
  rejected smallint NOT NULL,
  n bigint NOT NULL,
  repeats bigint NOT NULL,
  tests bigint NOT NULL,
  kap_n bigint NOT NULL,
  kap_micro bigint NOT NULL,
  PRIMARY KEY (site, year, performer, room, rejected)
) WITH (fillfactor = 80);

CREATE TABLE log_year_performer_projections (
  site integer NOT NULL,
  year integer NOT NULL,
  performer integer NOT NULL,
  projection integer NOT NULL,
  rejected smallint NOT NULL,
  n bigint NOT NULL,
  repeats bigint NOT NULL,
  tests bigint NOT NULL,
  kap_n bigint NOT NULL,
  kap_micro bigint NOT NULL,
  PRIMARY KEY (site, year, performer, projection, rejected)
) WITH (fillfactor = 80);

CREATE TABLE log_year_room_projections (
  site integer NOT NULL,
  year integer NOT NULL,
  projection integer NOT NULL,
  room integer NOT NULL,
  receptor integer NOT NULL,
  shift smallint NOT NULL,
  rejected smallint NOT NULL,
  n bigint NOT NULL,
  repeats bigint NOT NULL,
  tests bigint NOT NULL,
  kap_n bigint NOT NULL,
  kap_micro bigint NOT NULL,
  PRIMARY KEY (site, year, projection, room, receptor, shift, rejected)
) WITH (fillfactor = 80);

CREATE TABLE log_index_months (
  site integer NOT NULL,
  month integer NOT NULL,
  shift smallint NOT NULL,
  age_group smallint NOT NULL,
  bin smallint NOT NULL,
  n bigint NOT NULL,
  missing bigint NOT NULL,
  PRIMARY KEY (site, month, shift, age_group, bin)
) WITH (fillfactor = 80);

CREATE TABLE log_index_year_rooms (
  site integer NOT NULL,
  year integer NOT NULL,
  room integer NOT NULL,
  receptor integer NOT NULL,
  bin smallint NOT NULL,
  n bigint NOT NULL,
  missing bigint NOT NULL,
  PRIMARY KEY (site, year, room, receptor, bin)
) WITH (fillfactor = 80);

CREATE TABLE log_index_year_projections (
  site integer NOT NULL,
  year integer NOT NULL,
  projection integer NOT NULL,
  bin smallint NOT NULL,
  n bigint NOT NULL,
  missing bigint NOT NULL,
  PRIMARY KEY (site, year, projection, bin)
) WITH (fillfactor = 80);

-- The sums so far, from those that are there.
INSERT INTO log_day_totals (site, day, shift, age_group, outcome, month, n, repeats, tests, kap_n, kap_micro) SELECT site, day, shift, age_group, outcome, month, SUM(n), SUM(repeats), SUM(tests), SUM(kap_n), SUM(kap_micro) FROM log_days GROUP BY site, day, shift, age_group, outcome, month;
INSERT INTO log_month_projections (site, month, projection, age_group, outcome, n, repeats, tests, kap_n, kap_micro) SELECT site, month, projection, age_group, outcome, SUM(n), SUM(repeats), SUM(tests), SUM(kap_n), SUM(kap_micro) FROM log_day_projections GROUP BY site, month, projection, age_group, outcome;
INSERT INTO log_month_performer_totals (site, month, performer, outcome, n, repeats, tests, kap_n, kap_micro) SELECT site, month, performer, outcome, SUM(n), SUM(repeats), SUM(tests), SUM(kap_n), SUM(kap_micro) FROM log_month_performers GROUP BY site, month, performer, outcome;
INSERT INTO log_month_rooms (site, month, room, receptor, shift, age_group, outcome, n, repeats, tests, kap_n, kap_micro) SELECT site, month, room, receptor, shift, age_group, outcome, SUM(n), SUM(repeats), SUM(tests), SUM(kap_n), SUM(kap_micro) FROM log_days GROUP BY site, month, room, receptor, shift, age_group, outcome;
INSERT INTO log_year_performer_rooms (site, year, performer, room, rejected, n, repeats, tests, kap_n, kap_micro) SELECT site, month / 12, performer, room, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END, SUM(n), SUM(repeats), SUM(tests), SUM(kap_n), SUM(kap_micro) FROM log_day_performers GROUP BY site, month / 12, performer, room, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END;
INSERT INTO log_year_performer_projections (site, year, performer, projection, rejected, n, repeats, tests, kap_n, kap_micro) SELECT site, month / 12, performer, projection, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END, SUM(n), SUM(repeats), SUM(tests), SUM(kap_n), SUM(kap_micro) FROM log_month_performers GROUP BY site, month / 12, performer, projection, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END;
INSERT INTO log_year_room_projections (site, year, projection, room, receptor, shift, rejected, n, repeats, tests, kap_n, kap_micro) SELECT site, month / 12, projection, room, receptor, shift, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END, SUM(n), SUM(repeats), SUM(tests), SUM(kap_n), SUM(kap_micro) FROM log_months GROUP BY site, month / 12, projection, room, receptor, shift, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END;
INSERT INTO log_index_months (site, month, shift, age_group, bin, n, missing) SELECT site, month, shift, age_group, bin, SUM(n), SUM(missing) FROM log_index_days GROUP BY site, month, shift, age_group, bin;
INSERT INTO log_index_year_rooms (site, year, room, receptor, bin, n, missing) SELECT site, month / 12, room, receptor, bin, SUM(n), SUM(missing) FROM log_index_rooms GROUP BY site, month / 12, room, receptor, bin;
INSERT INTO log_index_year_projections (site, year, projection, bin, n, missing) SELECT site, month / 12, projection, bin, SUM(n), SUM(missing) FROM log_index_projections GROUP BY site, month / 12, projection, bin;

DROP VIEW log_facts;

-- What every entry adds to the summaries.
CREATE VIEW log_facts AS SELECT seq, site, exposed_at, day, month, month / 12 AS year, projection, room, receptor, performer, shift, age_group, outcome, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected, bin,
  CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n,
  CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats,
  CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests,
  CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n,
  CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro,
  CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END AS missing
FROM log_entries;

-- After the triggers of ExposureLog.sql, by the order of their names: one order of tables and keys for every writer, so that two wait for each other, but never in a circle.
CREATE FUNCTION log_entries_added_wide() RETURNS trigger LANGUAGE plpgsql AS $body$
BEGIN
  INSERT INTO log_day_totals (site, day, shift, age_group, outcome, month, n, repeats, tests, kap_n, kap_micro)
  SELECT site, day, shift, age_group, outcome, month, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, day, shift, age_group, outcome, month, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats, CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro FROM new_rows
  ) AS parts
  GROUP BY site, day, shift, age_group, outcome, month
  ORDER BY site, day, shift, age_group, outcome
  ON CONFLICT (site, day, shift, age_group, outcome) DO UPDATE SET n = log_day_totals.n + excluded.n, repeats = log_day_totals.repeats + excluded.repeats, tests = log_day_totals.tests + excluded.tests, kap_n = log_day_totals.kap_n + excluded.kap_n, kap_micro = log_day_totals.kap_micro + excluded.kap_micro;
  INSERT INTO log_month_projections (site, month, projection, age_group, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT site, month, projection, age_group, outcome, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month, projection, age_group, outcome, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats, CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro FROM new_rows
  ) AS parts
  GROUP BY site, month, projection, age_group, outcome
  ORDER BY site, month, projection, age_group, outcome
  ON CONFLICT (site, month, projection, age_group, outcome) DO UPDATE SET n = log_month_projections.n + excluded.n, repeats = log_month_projections.repeats + excluded.repeats, tests = log_month_projections.tests + excluded.tests, kap_n = log_month_projections.kap_n + excluded.kap_n, kap_micro = log_month_projections.kap_micro + excluded.kap_micro;
  INSERT INTO log_month_performer_totals (site, month, performer, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT site, month, performer, outcome, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month, performer, outcome, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats, CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro FROM new_rows
  ) AS parts
  GROUP BY site, month, performer, outcome
  ORDER BY site, month, performer, outcome
  ON CONFLICT (site, month, performer, outcome) DO UPDATE SET n = log_month_performer_totals.n + excluded.n, repeats = log_month_performer_totals.repeats + excluded.repeats, tests = log_month_performer_totals.tests + excluded.tests, kap_n = log_month_performer_totals.kap_n + excluded.kap_n, kap_micro = log_month_performer_totals.kap_micro + excluded.kap_micro;
  INSERT INTO log_month_rooms (site, month, room, receptor, shift, age_group, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT site, month, room, receptor, shift, age_group, outcome, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month, room, receptor, shift, age_group, outcome, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats, CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro FROM new_rows
  ) AS parts
  GROUP BY site, month, room, receptor, shift, age_group, outcome
  ORDER BY site, month, room, receptor, shift, age_group, outcome
  ON CONFLICT (site, month, room, receptor, shift, age_group, outcome) DO UPDATE SET n = log_month_rooms.n + excluded.n, repeats = log_month_rooms.repeats + excluded.repeats, tests = log_month_rooms.tests + excluded.tests, kap_n = log_month_rooms.kap_n + excluded.kap_n, kap_micro = log_month_rooms.kap_micro + excluded.kap_micro;
  INSERT INTO log_year_performer_rooms (site, year, performer, room, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT site, year, performer, room, rejected, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month / 12 AS year, performer, room, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats, CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro FROM new_rows
  ) AS parts
  GROUP BY site, year, performer, room, rejected
  ORDER BY site, year, performer, room, rejected
  ON CONFLICT (site, year, performer, room, rejected) DO UPDATE SET n = log_year_performer_rooms.n + excluded.n, repeats = log_year_performer_rooms.repeats + excluded.repeats, tests = log_year_performer_rooms.tests + excluded.tests, kap_n = log_year_performer_rooms.kap_n + excluded.kap_n, kap_micro = log_year_performer_rooms.kap_micro + excluded.kap_micro;
  INSERT INTO log_year_performer_projections (site, year, performer, projection, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT site, year, performer, projection, rejected, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month / 12 AS year, performer, projection, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats, CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro FROM new_rows
  ) AS parts
  GROUP BY site, year, performer, projection, rejected
  ORDER BY site, year, performer, projection, rejected
  ON CONFLICT (site, year, performer, projection, rejected) DO UPDATE SET n = log_year_performer_projections.n + excluded.n, repeats = log_year_performer_projections.repeats + excluded.repeats, tests = log_year_performer_projections.tests + excluded.tests, kap_n = log_year_performer_projections.kap_n + excluded.kap_n, kap_micro = log_year_performer_projections.kap_micro + excluded.kap_micro;
  INSERT INTO log_year_room_projections (site, year, projection, room, receptor, shift, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT site, year, projection, room, receptor, shift, rejected, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month / 12 AS year, projection, room, receptor, shift, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats, CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro FROM new_rows
  ) AS parts
  GROUP BY site, year, projection, room, receptor, shift, rejected
  ORDER BY site, year, projection, room, receptor, shift, rejected
  ON CONFLICT (site, year, projection, room, receptor, shift, rejected) DO UPDATE SET n = log_year_room_projections.n + excluded.n, repeats = log_year_room_projections.repeats + excluded.repeats, tests = log_year_room_projections.tests + excluded.tests, kap_n = log_year_room_projections.kap_n + excluded.kap_n, kap_micro = log_year_room_projections.kap_micro + excluded.kap_micro;
  INSERT INTO log_index_months (site, month, shift, age_group, bin, n, missing)
  SELECT site, month, shift, age_group, bin, sum(n), sum(missing) FROM (
    SELECT site, month, shift, age_group, bin, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END AS missing FROM new_rows WHERE exposure_use <> 2
  ) AS parts
  GROUP BY site, month, shift, age_group, bin
  ORDER BY site, month, shift, age_group, bin
  ON CONFLICT (site, month, shift, age_group, bin) DO UPDATE SET n = log_index_months.n + excluded.n, missing = log_index_months.missing + excluded.missing;
  INSERT INTO log_index_year_rooms (site, year, room, receptor, bin, n, missing)
  SELECT site, year, room, receptor, bin, sum(n), sum(missing) FROM (
    SELECT site, month / 12 AS year, room, receptor, bin, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END AS missing FROM new_rows WHERE exposure_use <> 2
  ) AS parts
  GROUP BY site, year, room, receptor, bin
  ORDER BY site, year, room, receptor, bin
  ON CONFLICT (site, year, room, receptor, bin) DO UPDATE SET n = log_index_year_rooms.n + excluded.n, missing = log_index_year_rooms.missing + excluded.missing;
  INSERT INTO log_index_year_projections (site, year, projection, bin, n, missing)
  SELECT site, year, projection, bin, sum(n), sum(missing) FROM (
    SELECT site, month / 12 AS year, projection, bin, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END AS missing FROM new_rows WHERE exposure_use <> 2
  ) AS parts
  GROUP BY site, year, projection, bin
  ORDER BY site, year, projection, bin
  ON CONFLICT (site, year, projection, bin) DO UPDATE SET n = log_index_year_projections.n + excluded.n, missing = log_index_year_projections.missing + excluded.missing;
  RETURN NULL;
END $body$;
CREATE TRIGGER log_entries_added_wide AFTER INSERT ON log_entries REFERENCING NEW TABLE AS new_rows FOR EACH STATEMENT EXECUTE FUNCTION log_entries_added_wide();

CREATE FUNCTION log_entries_removed_wide() RETURNS trigger LANGUAGE plpgsql AS $body$
BEGIN
  INSERT INTO log_day_totals (site, day, shift, age_group, outcome, month, n, repeats, tests, kap_n, kap_micro)
  SELECT site, day, shift, age_group, outcome, month, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, day, shift, age_group, outcome, month, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END) AS repeats, -(CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END) AS tests, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END) AS kap_n, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END) AS kap_micro FROM old_rows
  ) AS parts
  GROUP BY site, day, shift, age_group, outcome, month
  HAVING sum(n) <> 0 OR sum(repeats) <> 0 OR sum(tests) <> 0 OR sum(kap_n) <> 0 OR sum(kap_micro) <> 0
  ORDER BY site, day, shift, age_group, outcome
  ON CONFLICT (site, day, shift, age_group, outcome) DO UPDATE SET n = log_day_totals.n + excluded.n, repeats = log_day_totals.repeats + excluded.repeats, tests = log_day_totals.tests + excluded.tests, kap_n = log_day_totals.kap_n + excluded.kap_n, kap_micro = log_day_totals.kap_micro + excluded.kap_micro;
  INSERT INTO log_month_projections (site, month, projection, age_group, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT site, month, projection, age_group, outcome, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month, projection, age_group, outcome, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END) AS repeats, -(CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END) AS tests, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END) AS kap_n, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END) AS kap_micro FROM old_rows
  ) AS parts
  GROUP BY site, month, projection, age_group, outcome
  HAVING sum(n) <> 0 OR sum(repeats) <> 0 OR sum(tests) <> 0 OR sum(kap_n) <> 0 OR sum(kap_micro) <> 0
  ORDER BY site, month, projection, age_group, outcome
  ON CONFLICT (site, month, projection, age_group, outcome) DO UPDATE SET n = log_month_projections.n + excluded.n, repeats = log_month_projections.repeats + excluded.repeats, tests = log_month_projections.tests + excluded.tests, kap_n = log_month_projections.kap_n + excluded.kap_n, kap_micro = log_month_projections.kap_micro + excluded.kap_micro;
  INSERT INTO log_month_performer_totals (site, month, performer, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT site, month, performer, outcome, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month, performer, outcome, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END) AS repeats, -(CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END) AS tests, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END) AS kap_n, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END) AS kap_micro FROM old_rows
  ) AS parts
  GROUP BY site, month, performer, outcome
  HAVING sum(n) <> 0 OR sum(repeats) <> 0 OR sum(tests) <> 0 OR sum(kap_n) <> 0 OR sum(kap_micro) <> 0
  ORDER BY site, month, performer, outcome
  ON CONFLICT (site, month, performer, outcome) DO UPDATE SET n = log_month_performer_totals.n + excluded.n, repeats = log_month_performer_totals.repeats + excluded.repeats, tests = log_month_performer_totals.tests + excluded.tests, kap_n = log_month_performer_totals.kap_n + excluded.kap_n, kap_micro = log_month_performer_totals.kap_micro + excluded.kap_micro;
  INSERT INTO log_month_rooms (site, month, room, receptor, shift, age_group, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT site, month, room, receptor, shift, age_group, outcome, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month, room, receptor, shift, age_group, outcome, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END) AS repeats, -(CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END) AS tests, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END) AS kap_n, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END) AS kap_micro FROM old_rows
  ) AS parts
  GROUP BY site, month, room, receptor, shift, age_group, outcome
  HAVING sum(n) <> 0 OR sum(repeats) <> 0 OR sum(tests) <> 0 OR sum(kap_n) <> 0 OR sum(kap_micro) <> 0
  ORDER BY site, month, room, receptor, shift, age_group, outcome
  ON CONFLICT (site, month, room, receptor, shift, age_group, outcome) DO UPDATE SET n = log_month_rooms.n + excluded.n, repeats = log_month_rooms.repeats + excluded.repeats, tests = log_month_rooms.tests + excluded.tests, kap_n = log_month_rooms.kap_n + excluded.kap_n, kap_micro = log_month_rooms.kap_micro + excluded.kap_micro;
  INSERT INTO log_year_performer_rooms (site, year, performer, room, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT site, year, performer, room, rejected, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month / 12 AS year, performer, room, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END) AS repeats, -(CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END) AS tests, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END) AS kap_n, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END) AS kap_micro FROM old_rows
  ) AS parts
  GROUP BY site, year, performer, room, rejected
  HAVING sum(n) <> 0 OR sum(repeats) <> 0 OR sum(tests) <> 0 OR sum(kap_n) <> 0 OR sum(kap_micro) <> 0
  ORDER BY site, year, performer, room, rejected
  ON CONFLICT (site, year, performer, room, rejected) DO UPDATE SET n = log_year_performer_rooms.n + excluded.n, repeats = log_year_performer_rooms.repeats + excluded.repeats, tests = log_year_performer_rooms.tests + excluded.tests, kap_n = log_year_performer_rooms.kap_n + excluded.kap_n, kap_micro = log_year_performer_rooms.kap_micro + excluded.kap_micro;
  INSERT INTO log_year_performer_projections (site, year, performer, projection, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT site, year, performer, projection, rejected, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month / 12 AS year, performer, projection, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END) AS repeats, -(CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END) AS tests, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END) AS kap_n, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END) AS kap_micro FROM old_rows
  ) AS parts
  GROUP BY site, year, performer, projection, rejected
  HAVING sum(n) <> 0 OR sum(repeats) <> 0 OR sum(tests) <> 0 OR sum(kap_n) <> 0 OR sum(kap_micro) <> 0
  ORDER BY site, year, performer, projection, rejected
  ON CONFLICT (site, year, performer, projection, rejected) DO UPDATE SET n = log_year_performer_projections.n + excluded.n, repeats = log_year_performer_projections.repeats + excluded.repeats, tests = log_year_performer_projections.tests + excluded.tests, kap_n = log_year_performer_projections.kap_n + excluded.kap_n, kap_micro = log_year_performer_projections.kap_micro + excluded.kap_micro;
  INSERT INTO log_year_room_projections (site, year, projection, room, receptor, shift, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT site, year, projection, room, receptor, shift, rejected, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month / 12 AS year, projection, room, receptor, shift, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END) AS repeats, -(CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END) AS tests, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END) AS kap_n, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END) AS kap_micro FROM old_rows
  ) AS parts
  GROUP BY site, year, projection, room, receptor, shift, rejected
  HAVING sum(n) <> 0 OR sum(repeats) <> 0 OR sum(tests) <> 0 OR sum(kap_n) <> 0 OR sum(kap_micro) <> 0
  ORDER BY site, year, projection, room, receptor, shift, rejected
  ON CONFLICT (site, year, projection, room, receptor, shift, rejected) DO UPDATE SET n = log_year_room_projections.n + excluded.n, repeats = log_year_room_projections.repeats + excluded.repeats, tests = log_year_room_projections.tests + excluded.tests, kap_n = log_year_room_projections.kap_n + excluded.kap_n, kap_micro = log_year_room_projections.kap_micro + excluded.kap_micro;
  INSERT INTO log_index_months (site, month, shift, age_group, bin, n, missing)
  SELECT site, month, shift, age_group, bin, sum(n), sum(missing) FROM (
    SELECT site, month, shift, age_group, bin, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END) AS missing FROM old_rows WHERE exposure_use <> 2
  ) AS parts
  GROUP BY site, month, shift, age_group, bin
  HAVING sum(n) <> 0 OR sum(missing) <> 0
  ORDER BY site, month, shift, age_group, bin
  ON CONFLICT (site, month, shift, age_group, bin) DO UPDATE SET n = log_index_months.n + excluded.n, missing = log_index_months.missing + excluded.missing;
  INSERT INTO log_index_year_rooms (site, year, room, receptor, bin, n, missing)
  SELECT site, year, room, receptor, bin, sum(n), sum(missing) FROM (
    SELECT site, month / 12 AS year, room, receptor, bin, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END) AS missing FROM old_rows WHERE exposure_use <> 2
  ) AS parts
  GROUP BY site, year, room, receptor, bin
  HAVING sum(n) <> 0 OR sum(missing) <> 0
  ORDER BY site, year, room, receptor, bin
  ON CONFLICT (site, year, room, receptor, bin) DO UPDATE SET n = log_index_year_rooms.n + excluded.n, missing = log_index_year_rooms.missing + excluded.missing;
  INSERT INTO log_index_year_projections (site, year, projection, bin, n, missing)
  SELECT site, year, projection, bin, sum(n), sum(missing) FROM (
    SELECT site, month / 12 AS year, projection, bin, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END) AS missing FROM old_rows WHERE exposure_use <> 2
  ) AS parts
  GROUP BY site, year, projection, bin
  HAVING sum(n) <> 0 OR sum(missing) <> 0
  ORDER BY site, year, projection, bin
  ON CONFLICT (site, year, projection, bin) DO UPDATE SET n = log_index_year_projections.n + excluded.n, missing = log_index_year_projections.missing + excluded.missing;
  DELETE FROM log_day_totals AS held USING (SELECT DISTINCT site, day, shift, age_group, outcome FROM old_rows) AS gone WHERE held.site = gone.site AND held.day = gone.day AND held.shift = gone.shift AND held.age_group = gone.age_group AND held.outcome = gone.outcome AND held.n = 0 AND held.tests = 0;
  DELETE FROM log_month_projections AS held USING (SELECT DISTINCT site, month, projection, age_group, outcome FROM old_rows) AS gone WHERE held.site = gone.site AND held.month = gone.month AND held.projection = gone.projection AND held.age_group = gone.age_group AND held.outcome = gone.outcome AND held.n = 0 AND held.tests = 0;
  DELETE FROM log_month_performer_totals AS held USING (SELECT DISTINCT site, month, performer, outcome FROM old_rows) AS gone WHERE held.site = gone.site AND held.month = gone.month AND held.performer = gone.performer AND held.outcome = gone.outcome AND held.n = 0 AND held.tests = 0;
  DELETE FROM log_month_rooms AS held USING (SELECT DISTINCT site, month, room, receptor, shift, age_group, outcome FROM old_rows) AS gone WHERE held.site = gone.site AND held.month = gone.month AND held.room = gone.room AND held.receptor = gone.receptor AND held.shift = gone.shift AND held.age_group = gone.age_group AND held.outcome = gone.outcome AND held.n = 0 AND held.tests = 0;
  DELETE FROM log_year_performer_rooms AS held USING (SELECT DISTINCT site, month / 12 AS year, performer, room, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected FROM old_rows) AS gone WHERE held.site = gone.site AND held.year = gone.year AND held.performer = gone.performer AND held.room = gone.room AND held.rejected = gone.rejected AND held.n = 0 AND held.tests = 0;
  DELETE FROM log_year_performer_projections AS held USING (SELECT DISTINCT site, month / 12 AS year, performer, projection, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected FROM old_rows) AS gone WHERE held.site = gone.site AND held.year = gone.year AND held.performer = gone.performer AND held.projection = gone.projection AND held.rejected = gone.rejected AND held.n = 0 AND held.tests = 0;
  DELETE FROM log_year_room_projections AS held USING (SELECT DISTINCT site, month / 12 AS year, projection, room, receptor, shift, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected FROM old_rows) AS gone WHERE held.site = gone.site AND held.year = gone.year AND held.projection = gone.projection AND held.room = gone.room AND held.receptor = gone.receptor AND held.shift = gone.shift AND held.rejected = gone.rejected AND held.n = 0 AND held.tests = 0;
  DELETE FROM log_index_months AS held USING (SELECT DISTINCT site, month, shift, age_group, bin FROM old_rows) AS gone WHERE held.site = gone.site AND held.month = gone.month AND held.shift = gone.shift AND held.age_group = gone.age_group AND held.bin = gone.bin AND held.n = 0;
  DELETE FROM log_index_year_rooms AS held USING (SELECT DISTINCT site, month / 12 AS year, room, receptor, bin FROM old_rows) AS gone WHERE held.site = gone.site AND held.year = gone.year AND held.room = gone.room AND held.receptor = gone.receptor AND held.bin = gone.bin AND held.n = 0;
  DELETE FROM log_index_year_projections AS held USING (SELECT DISTINCT site, month / 12 AS year, projection, bin FROM old_rows) AS gone WHERE held.site = gone.site AND held.year = gone.year AND held.projection = gone.projection AND held.bin = gone.bin AND held.n = 0;
  RETURN NULL;
END $body$;
CREATE TRIGGER log_entries_removed_wide AFTER DELETE ON log_entries REFERENCING OLD TABLE AS old_rows FOR EACH STATEMENT EXECUTE FUNCTION log_entries_removed_wide();

CREATE FUNCTION log_entries_changed_wide() RETURNS trigger LANGUAGE plpgsql AS $body$
BEGIN
  INSERT INTO log_day_totals (site, day, shift, age_group, outcome, month, n, repeats, tests, kap_n, kap_micro)
  SELECT site, day, shift, age_group, outcome, month, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, day, shift, age_group, outcome, month, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats, CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro FROM new_rows
    UNION ALL
    SELECT site, day, shift, age_group, outcome, month, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END) AS repeats, -(CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END) AS tests, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END) AS kap_n, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END) AS kap_micro FROM old_rows
  ) AS parts
  GROUP BY site, day, shift, age_group, outcome, month
  HAVING sum(n) <> 0 OR sum(repeats) <> 0 OR sum(tests) <> 0 OR sum(kap_n) <> 0 OR sum(kap_micro) <> 0
  ORDER BY site, day, shift, age_group, outcome
  ON CONFLICT (site, day, shift, age_group, outcome) DO UPDATE SET n = log_day_totals.n + excluded.n, repeats = log_day_totals.repeats + excluded.repeats, tests = log_day_totals.tests + excluded.tests, kap_n = log_day_totals.kap_n + excluded.kap_n, kap_micro = log_day_totals.kap_micro + excluded.kap_micro;
  INSERT INTO log_month_projections (site, month, projection, age_group, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT site, month, projection, age_group, outcome, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month, projection, age_group, outcome, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats, CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro FROM new_rows
    UNION ALL
    SELECT site, month, projection, age_group, outcome, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END) AS repeats, -(CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END) AS tests, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END) AS kap_n, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END) AS kap_micro FROM old_rows
  ) AS parts
  GROUP BY site, month, projection, age_group, outcome
  HAVING sum(n) <> 0 OR sum(repeats) <> 0 OR sum(tests) <> 0 OR sum(kap_n) <> 0 OR sum(kap_micro) <> 0
  ORDER BY site, month, projection, age_group, outcome
  ON CONFLICT (site, month, projection, age_group, outcome) DO UPDATE SET n = log_month_projections.n + excluded.n, repeats = log_month_projections.repeats + excluded.repeats, tests = log_month_projections.tests + excluded.tests, kap_n = log_month_projections.kap_n + excluded.kap_n, kap_micro = log_month_projections.kap_micro + excluded.kap_micro;
  INSERT INTO log_month_performer_totals (site, month, performer, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT site, month, performer, outcome, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month, performer, outcome, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats, CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro FROM new_rows
    UNION ALL
    SELECT site, month, performer, outcome, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END) AS repeats, -(CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END) AS tests, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END) AS kap_n, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END) AS kap_micro FROM old_rows
  ) AS parts
  GROUP BY site, month, performer, outcome
  HAVING sum(n) <> 0 OR sum(repeats) <> 0 OR sum(tests) <> 0 OR sum(kap_n) <> 0 OR sum(kap_micro) <> 0
  ORDER BY site, month, performer, outcome
  ON CONFLICT (site, month, performer, outcome) DO UPDATE SET n = log_month_performer_totals.n + excluded.n, repeats = log_month_performer_totals.repeats + excluded.repeats, tests = log_month_performer_totals.tests + excluded.tests, kap_n = log_month_performer_totals.kap_n + excluded.kap_n, kap_micro = log_month_performer_totals.kap_micro + excluded.kap_micro;
  INSERT INTO log_month_rooms (site, month, room, receptor, shift, age_group, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT site, month, room, receptor, shift, age_group, outcome, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month, room, receptor, shift, age_group, outcome, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats, CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro FROM new_rows
    UNION ALL
    SELECT site, month, room, receptor, shift, age_group, outcome, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END) AS repeats, -(CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END) AS tests, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END) AS kap_n, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END) AS kap_micro FROM old_rows
  ) AS parts
  GROUP BY site, month, room, receptor, shift, age_group, outcome
  HAVING sum(n) <> 0 OR sum(repeats) <> 0 OR sum(tests) <> 0 OR sum(kap_n) <> 0 OR sum(kap_micro) <> 0
  ORDER BY site, month, room, receptor, shift, age_group, outcome
  ON CONFLICT (site, month, room, receptor, shift, age_group, outcome) DO UPDATE SET n = log_month_rooms.n + excluded.n, repeats = log_month_rooms.repeats + excluded.repeats, tests = log_month_rooms.tests + excluded.tests, kap_n = log_month_rooms.kap_n + excluded.kap_n, kap_micro = log_month_rooms.kap_micro + excluded.kap_micro;
  INSERT INTO log_year_performer_rooms (site, year, performer, room, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT site, year, performer, room, rejected, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month / 12 AS year, performer, room, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats, CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro FROM new_rows
    UNION ALL
    SELECT site, month / 12 AS year, performer, room, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END) AS repeats, -(CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END) AS tests, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END) AS kap_n, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END) AS kap_micro FROM old_rows
  ) AS parts
  GROUP BY site, year, performer, room, rejected
  HAVING sum(n) <> 0 OR sum(repeats) <> 0 OR sum(tests) <> 0 OR sum(kap_n) <> 0 OR sum(kap_micro) <> 0
  ORDER BY site, year, performer, room, rejected
  ON CONFLICT (site, year, performer, room, rejected) DO UPDATE SET n = log_year_performer_rooms.n + excluded.n, repeats = log_year_performer_rooms.repeats + excluded.repeats, tests = log_year_performer_rooms.tests + excluded.tests, kap_n = log_year_performer_rooms.kap_n + excluded.kap_n, kap_micro = log_year_performer_rooms.kap_micro + excluded.kap_micro;
  INSERT INTO log_year_performer_projections (site, year, performer, projection, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT site, year, performer, projection, rejected, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month / 12 AS year, performer, projection, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats, CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro FROM new_rows
    UNION ALL
    SELECT site, month / 12 AS year, performer, projection, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END) AS repeats, -(CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END) AS tests, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END) AS kap_n, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END) AS kap_micro FROM old_rows
  ) AS parts
  GROUP BY site, year, performer, projection, rejected
  HAVING sum(n) <> 0 OR sum(repeats) <> 0 OR sum(tests) <> 0 OR sum(kap_n) <> 0 OR sum(kap_micro) <> 0
  ORDER BY site, year, performer, projection, rejected
  ON CONFLICT (site, year, performer, projection, rejected) DO UPDATE SET n = log_year_performer_projections.n + excluded.n, repeats = log_year_performer_projections.repeats + excluded.repeats, tests = log_year_performer_projections.tests + excluded.tests, kap_n = log_year_performer_projections.kap_n + excluded.kap_n, kap_micro = log_year_performer_projections.kap_micro + excluded.kap_micro;
  INSERT INTO log_year_room_projections (site, year, projection, room, receptor, shift, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT site, year, projection, room, receptor, shift, rejected, sum(n), sum(repeats), sum(tests), sum(kap_n), sum(kap_micro) FROM (
    SELECT site, month / 12 AS year, projection, room, receptor, shift, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats, CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n, CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END AS kap_micro FROM new_rows
    UNION ALL
    SELECT site, month / 12 AS year, projection, room, receptor, shift, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END) AS repeats, -(CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END) AS tests, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END) AS kap_n, -(CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN round(kerma_area_product_dgycm2 * 1000000.0)::bigint ELSE 0 END) AS kap_micro FROM old_rows
  ) AS parts
  GROUP BY site, year, projection, room, receptor, shift, rejected
  HAVING sum(n) <> 0 OR sum(repeats) <> 0 OR sum(tests) <> 0 OR sum(kap_n) <> 0 OR sum(kap_micro) <> 0
  ORDER BY site, year, projection, room, receptor, shift, rejected
  ON CONFLICT (site, year, projection, room, receptor, shift, rejected) DO UPDATE SET n = log_year_room_projections.n + excluded.n, repeats = log_year_room_projections.repeats + excluded.repeats, tests = log_year_room_projections.tests + excluded.tests, kap_n = log_year_room_projections.kap_n + excluded.kap_n, kap_micro = log_year_room_projections.kap_micro + excluded.kap_micro;
  INSERT INTO log_index_months (site, month, shift, age_group, bin, n, missing)
  SELECT site, month, shift, age_group, bin, sum(n), sum(missing) FROM (
    SELECT site, month, shift, age_group, bin, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END AS missing FROM new_rows WHERE exposure_use <> 2
    UNION ALL
    SELECT site, month, shift, age_group, bin, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END) AS missing FROM old_rows WHERE exposure_use <> 2
  ) AS parts
  GROUP BY site, month, shift, age_group, bin
  HAVING sum(n) <> 0 OR sum(missing) <> 0
  ORDER BY site, month, shift, age_group, bin
  ON CONFLICT (site, month, shift, age_group, bin) DO UPDATE SET n = log_index_months.n + excluded.n, missing = log_index_months.missing + excluded.missing;
  INSERT INTO log_index_year_rooms (site, year, room, receptor, bin, n, missing)
  SELECT site, year, room, receptor, bin, sum(n), sum(missing) FROM (
    SELECT site, month / 12 AS year, room, receptor, bin, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END AS missing FROM new_rows WHERE exposure_use <> 2
    UNION ALL
    SELECT site, month / 12 AS year, room, receptor, bin, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END) AS missing FROM old_rows WHERE exposure_use <> 2
  ) AS parts
  GROUP BY site, year, room, receptor, bin
  HAVING sum(n) <> 0 OR sum(missing) <> 0
  ORDER BY site, year, room, receptor, bin
  ON CONFLICT (site, year, room, receptor, bin) DO UPDATE SET n = log_index_year_rooms.n + excluded.n, missing = log_index_year_rooms.missing + excluded.missing;
  INSERT INTO log_index_year_projections (site, year, projection, bin, n, missing)
  SELECT site, year, projection, bin, sum(n), sum(missing) FROM (
    SELECT site, month / 12 AS year, projection, bin, CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n, CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END AS missing FROM new_rows WHERE exposure_use <> 2
    UNION ALL
    SELECT site, month / 12 AS year, projection, bin, -(CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END) AS n, -(CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END) AS missing FROM old_rows WHERE exposure_use <> 2
  ) AS parts
  GROUP BY site, year, projection, bin
  HAVING sum(n) <> 0 OR sum(missing) <> 0
  ORDER BY site, year, projection, bin
  ON CONFLICT (site, year, projection, bin) DO UPDATE SET n = log_index_year_projections.n + excluded.n, missing = log_index_year_projections.missing + excluded.missing;
  DELETE FROM log_day_totals AS held USING (SELECT DISTINCT site, day, shift, age_group, outcome FROM old_rows) AS gone WHERE held.site = gone.site AND held.day = gone.day AND held.shift = gone.shift AND held.age_group = gone.age_group AND held.outcome = gone.outcome AND held.n = 0 AND held.tests = 0;
  DELETE FROM log_month_projections AS held USING (SELECT DISTINCT site, month, projection, age_group, outcome FROM old_rows) AS gone WHERE held.site = gone.site AND held.month = gone.month AND held.projection = gone.projection AND held.age_group = gone.age_group AND held.outcome = gone.outcome AND held.n = 0 AND held.tests = 0;
  DELETE FROM log_month_performer_totals AS held USING (SELECT DISTINCT site, month, performer, outcome FROM old_rows) AS gone WHERE held.site = gone.site AND held.month = gone.month AND held.performer = gone.performer AND held.outcome = gone.outcome AND held.n = 0 AND held.tests = 0;
  DELETE FROM log_month_rooms AS held USING (SELECT DISTINCT site, month, room, receptor, shift, age_group, outcome FROM old_rows) AS gone WHERE held.site = gone.site AND held.month = gone.month AND held.room = gone.room AND held.receptor = gone.receptor AND held.shift = gone.shift AND held.age_group = gone.age_group AND held.outcome = gone.outcome AND held.n = 0 AND held.tests = 0;
  DELETE FROM log_year_performer_rooms AS held USING (SELECT DISTINCT site, month / 12 AS year, performer, room, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected FROM old_rows) AS gone WHERE held.site = gone.site AND held.year = gone.year AND held.performer = gone.performer AND held.room = gone.room AND held.rejected = gone.rejected AND held.n = 0 AND held.tests = 0;
  DELETE FROM log_year_performer_projections AS held USING (SELECT DISTINCT site, month / 12 AS year, performer, projection, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected FROM old_rows) AS gone WHERE held.site = gone.site AND held.year = gone.year AND held.performer = gone.performer AND held.projection = gone.projection AND held.rejected = gone.rejected AND held.n = 0 AND held.tests = 0;
  DELETE FROM log_year_room_projections AS held USING (SELECT DISTINCT site, month / 12 AS year, projection, room, receptor, shift, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected FROM old_rows) AS gone WHERE held.site = gone.site AND held.year = gone.year AND held.projection = gone.projection AND held.room = gone.room AND held.receptor = gone.receptor AND held.shift = gone.shift AND held.rejected = gone.rejected AND held.n = 0 AND held.tests = 0;
  DELETE FROM log_index_months AS held USING (SELECT DISTINCT site, month, shift, age_group, bin FROM old_rows) AS gone WHERE held.site = gone.site AND held.month = gone.month AND held.shift = gone.shift AND held.age_group = gone.age_group AND held.bin = gone.bin AND held.n = 0;
  DELETE FROM log_index_year_rooms AS held USING (SELECT DISTINCT site, month / 12 AS year, room, receptor, bin FROM old_rows) AS gone WHERE held.site = gone.site AND held.year = gone.year AND held.room = gone.room AND held.receptor = gone.receptor AND held.bin = gone.bin AND held.n = 0;
  DELETE FROM log_index_year_projections AS held USING (SELECT DISTINCT site, month / 12 AS year, projection, bin FROM old_rows) AS gone WHERE held.site = gone.site AND held.year = gone.year AND held.projection = gone.projection AND held.bin = gone.bin AND held.n = 0;
  RETURN NULL;
END $body$;
CREATE TRIGGER log_entries_changed_wide AFTER UPDATE ON log_entries REFERENCING OLD TABLE AS old_rows NEW TABLE AS new_rows FOR EACH STATEMENT EXECUTE FUNCTION log_entries_changed_wide();

-- For one person's weeks and for one projection in one room.
CREATE INDEX log_day_performers_performer ON log_day_performers (site, performer, day);
CREATE INDEX log_months_projection ON log_months (site, projection, room, month);
