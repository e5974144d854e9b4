-- Sums for questions over long times: narrower than those of ExposureLog.sql, by whole months and years. docs/records.md explains every table.
CREATE TABLE log_day_totals (
  site INTEGER NOT NULL,
  day INTEGER NOT NULL,
  shift INTEGER NOT NULL,
  age_group INTEGER NOT NULL,
  outcome INTEGER NOT NULL,
  month INTEGER NOT NULL,
  n INTEGER NOT NULL,
  repeats INTEGER NOT NULL,
  tests INTEGER NOT NULL,
  kap_n INTEGER NOT NULL,
  kap_micro INTEGER NOT NULL,
  PRIMARY KEY (site, day, shift, age_group, outcome)
) WITHOUT ROWID;

CREATE TABLE log_month_projections (
  site INTEGER NOT NULL,
  month INTEGER NOT NULL,
  projection INTEGER NOT NULL,
  age_group INTEGER NOT NULL,
  outcome INTEGER NOT NULL,
  n INTEGER NOT NULL,
  repeats INTEGER NOT NULL,
  tests INTEGER NOT NULL,
  kap_n INTEGER NOT NULL,
  kap_micro INTEGER NOT NULL,
  PRIMARY KEY (site, month, projection, age_group, outcome)
) WITHOUT ROWID;

CREATE TABLE log_month_performer_totals (
  site INTEGER NOT NULL,
  month INTEGER NOT NULL,
  performer INTEGER NOT NULL,
  outcome INTEGER NOT NULL,
  n INTEGER NOT NULL,
  repeats INTEGER NOT NULL,
  tests INTEGER NOT NULL,
  kap_n INTEGER NOT NULL,
  kap_micro INTEGER NOT NULL,
  PRIMARY KEY (site, month, performer, outcome)
) WITHOUT ROWID;

CREATE TABLE log_month_rooms (
  site INTEGER NOT NULL,
  month INTEGER NOT NULL,
  room INTEGER NOT NULL,
  receptor INTEGER NOT NULL,
  shift INTEGER NOT NULL,
  age_group INTEGER NOT NULL,
  outcome INTEGER NOT NULL,
  n INTEGER NOT NULL,
  repeats INTEGER NOT NULL,
  tests INTEGER NOT NULL,
  kap_n INTEGER NOT NULL,
  kap_micro INTEGER NOT NULL,
  PRIMARY KEY (site, month, room, receptor, shift, age_group, outcome)
) WITHOUT ROWID;

CREATE TABLE log_year_performer_rooms (
  site INTEGER NOT NULL,
  year INTEGER NOT NULL,
  performer INTEGER NOT NULL,
  room INTEGER NOT NULL,
  rejected INTEGER NOT NULL,
  n INTEGER NOT NULL,
  repeats INTEGER NOT NULL,
  tests INTEGER NOT NULL,
  kap_n INTEGER NOT NULL,
  kap_micro INTEGER NOT NULL,
  PRIMARY KEY (site, year, performer, room, rejected)
) WITHOUT ROWID;

CREATE TABLE log_year_performer_projections (
  site INTEGER NOT NULL,
  year INTEGER NOT NULL,
  performer INTEGER NOT NULL,
  projection INTEGER NOT NULL,
  rejected INTEGER NOT NULL,
  n INTEGER NOT NULL,
  repeats INTEGER NOT NULL,
  tests INTEGER NOT NULL,
  kap_n INTEGER NOT NULL,
  kap_micro INTEGER NOT NULL,
  PRIMARY KEY (site, year, performer, projection, rejected)
) WITHOUT ROWID;

CREATE TABLE log_year_room_projections (
  site INTEGER NOT NULL,
  year INTEGER NOT NULL,
  projection INTEGER NOT NULL,
  room INTEGER NOT NULL,
  receptor INTEGER NOT NULL,
  shift INTEGER NOT NULL,
  rejected INTEGER NOT NULL,
  n INTEGER NOT NULL,
  repeats INTEGER NOT NULL,
  tests INTEGER NOT NULL,
  kap_n INTEGER NOT NULL,
  kap_micro INTEGER NOT NULL,
  PRIMARY KEY (site, year, projection, room, receptor, shift, rejected)
) WITHOUT ROWID;

CREATE TABLE log_index_months (
  site INTEGER NOT NULL,
  month INTEGER NOT NULL,
  shift INTEGER NOT NULL,
  age_group INTEGER NOT NULL,
  bin INTEGER NOT NULL,
  n INTEGER NOT NULL,
  missing INTEGER NOT NULL,
  PRIMARY KEY (site, month, shift, age_group, bin)
) WITHOUT ROWID;

CREATE TABLE log_index_year_rooms (
  site INTEGER NOT NULL,
  year INTEGER NOT NULL,
  room INTEGER NOT NULL,
  receptor INTEGER NOT NULL,
  bin INTEGER NOT NULL,
  n INTEGER NOT NULL,
  missing INTEGER NOT NULL,
  PRIMARY KEY (site, year, room, receptor, bin)
) WITHOUT ROWID;

CREATE TABLE log_index_year_projections (
  site INTEGER NOT NULL,
  year INTEGER NOT NULL,
  projection INTEGER NOT NULL,
  bin INTEGER NOT NULL,
  n INTEGER NOT NULL,
  missing INTEGER NOT NULL,
  PRIMARY KEY (site, year, projection, bin)
) WITHOUT ROWID;

-- A row says that the entries from this number on are not in the sums yet. It is there only inside a step that brings many in and adds them up together before it ends.
CREATE TABLE log_unsummed (
  first_seq INTEGER NOT NULL
);

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

DROP TRIGGER log_entries_added;
DROP TRIGGER log_entries_removed;
DROP TRIGGER log_entries_changed;
DROP VIEW log_facts;

-- What every entry adds to the summaries.
CREATE VIEW log_facts AS SELECT seq, site, exposed_at, day, month, month / 12 AS year, projection, room, receptor, performer, shift, age_group, outcome, CASE WHEN outcome <> 0 THEN 1 ELSE 0 END AS rejected, bin,
  CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n,
  CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats,
  CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests,
  CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n,
  CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END AS kap_micro,
  CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END AS missing
FROM log_entries;

CREATE TRIGGER log_entries_added AFTER INSERT ON log_entries WHEN NOT EXISTS (SELECT 1 FROM log_unsummed) BEGIN
  INSERT INTO log_days (site, day, room, receptor, shift, age_group, outcome, month, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.day, NEW.room, NEW.receptor, NEW.shift, NEW.age_group, NEW.outcome, NEW.month, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, day, room, receptor, shift, age_group, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_day_projections (site, day, projection, age_group, outcome, month, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.day, NEW.projection, NEW.age_group, NEW.outcome, NEW.month, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, day, projection, age_group, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_day_performers (site, day, performer, room, receptor, shift, outcome, month, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.day, NEW.performer, NEW.room, NEW.receptor, NEW.shift, NEW.outcome, NEW.month, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, day, performer, room, receptor, shift, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_months (site, month, projection, room, receptor, shift, age_group, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month, NEW.projection, NEW.room, NEW.receptor, NEW.shift, NEW.age_group, NEW.outcome, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, month, projection, room, receptor, shift, age_group, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_month_performers (site, month, performer, projection, age_group, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month, NEW.performer, NEW.projection, NEW.age_group, NEW.outcome, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, month, performer, projection, age_group, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_index_days (site, day, shift, age_group, bin, month, n, missing)
  SELECT NEW.site, NEW.day, NEW.shift, NEW.age_group, NEW.bin, NEW.month, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.exposure_index IS NULL THEN 1 ELSE 0 END WHERE NEW.exposure_use <> 2
  ON CONFLICT (site, day, shift, age_group, bin) DO UPDATE SET n = n + excluded.n, missing = missing + excluded.missing;
  INSERT INTO log_index_projections (site, month, projection, age_group, bin, n, missing)
  SELECT NEW.site, NEW.month, NEW.projection, NEW.age_group, NEW.bin, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.exposure_index IS NULL THEN 1 ELSE 0 END WHERE NEW.exposure_use <> 2
  ON CONFLICT (site, month, projection, age_group, bin) DO UPDATE SET n = n + excluded.n, missing = missing + excluded.missing;
  INSERT INTO log_index_rooms (site, month, room, receptor, bin, n, missing)
  SELECT NEW.site, NEW.month, NEW.room, NEW.receptor, NEW.bin, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.exposure_index IS NULL THEN 1 ELSE 0 END WHERE NEW.exposure_use <> 2
  ON CONFLICT (site, month, room, receptor, bin) DO UPDATE SET n = n + excluded.n, missing = missing + excluded.missing;
  INSERT INTO log_index_performers (site, month, performer, bin, n, missing)
  SELECT NEW.site, NEW.month, NEW.performer, NEW.bin, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.exposure_index IS NULL THEN 1 ELSE 0 END WHERE NEW.exposure_use <> 2
  ON CONFLICT (site, month, performer, bin) DO UPDATE SET n = n + excluded.n, missing = missing + excluded.missing;
  INSERT INTO log_day_totals (site, day, shift, age_group, outcome, month, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.day, NEW.shift, NEW.age_group, NEW.outcome, NEW.month, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, day, shift, age_group, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_month_projections (site, month, projection, age_group, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month, NEW.projection, NEW.age_group, NEW.outcome, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, month, projection, age_group, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_month_performer_totals (site, month, performer, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month, NEW.performer, NEW.outcome, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, month, performer, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_month_rooms (site, month, room, receptor, shift, age_group, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month, NEW.room, NEW.receptor, NEW.shift, NEW.age_group, NEW.outcome, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, month, room, receptor, shift, age_group, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_year_performer_rooms (site, year, performer, room, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month / 12, NEW.performer, NEW.room, CASE WHEN NEW.outcome <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, year, performer, room, rejected) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_year_performer_projections (site, year, performer, projection, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month / 12, NEW.performer, NEW.projection, CASE WHEN NEW.outcome <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, year, performer, projection, rejected) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_year_room_projections (site, year, projection, room, receptor, shift, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month / 12, NEW.projection, NEW.room, NEW.receptor, NEW.shift, CASE WHEN NEW.outcome <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, year, projection, room, receptor, shift, rejected) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_index_months (site, month, shift, age_group, bin, n, missing)
  SELECT NEW.site, NEW.month, NEW.shift, NEW.age_group, NEW.bin, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.exposure_index IS NULL THEN 1 ELSE 0 END WHERE NEW.exposure_use <> 2
  ON CONFLICT (site, month, shift, age_group, bin) DO UPDATE SET n = n + excluded.n, missing = missing + excluded.missing;
  INSERT INTO log_index_year_rooms (site, year, room, receptor, bin, n, missing)
  SELECT NEW.site, NEW.month / 12, NEW.room, NEW.receptor, NEW.bin, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.exposure_index IS NULL THEN 1 ELSE 0 END WHERE NEW.exposure_use <> 2
  ON CONFLICT (site, year, room, receptor, bin) DO UPDATE SET n = n + excluded.n, missing = missing + excluded.missing;
  INSERT INTO log_index_year_projections (site, year, projection, bin, n, missing)
  SELECT NEW.site, NEW.month / 12, NEW.projection, NEW.bin, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.exposure_index IS NULL THEN 1 ELSE 0 END WHERE NEW.exposure_use <> 2
  ON CONFLICT (site, year, projection, bin) DO UPDATE SET n = n + excluded.n, missing = missing + excluded.missing;
END;

CREATE TRIGGER log_entries_removed AFTER DELETE ON log_entries BEGIN
  UPDATE log_days SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND day = OLD.day AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome;
  DELETE FROM log_days WHERE site = OLD.site AND day = OLD.day AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_day_projections SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND day = OLD.day AND projection = OLD.projection AND age_group = OLD.age_group AND outcome = OLD.outcome;
  DELETE FROM log_day_projections WHERE site = OLD.site AND day = OLD.day AND projection = OLD.projection AND age_group = OLD.age_group AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_day_performers SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND day = OLD.day AND performer = OLD.performer AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND outcome = OLD.outcome;
  DELETE FROM log_day_performers WHERE site = OLD.site AND day = OLD.day AND performer = OLD.performer AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_months SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND projection = OLD.projection AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome;
  DELETE FROM log_months WHERE site = OLD.site AND month = OLD.month AND projection = OLD.projection AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_month_performers SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND performer = OLD.performer AND projection = OLD.projection AND age_group = OLD.age_group AND outcome = OLD.outcome;
  DELETE FROM log_month_performers WHERE site = OLD.site AND month = OLD.month AND performer = OLD.performer AND projection = OLD.projection AND age_group = OLD.age_group AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_index_days SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), missing = missing - (CASE WHEN OLD.exposure_use <> 2 AND OLD.exposure_index IS NULL THEN 1 ELSE 0 END)
  WHERE site = OLD.site AND day = OLD.day AND shift = OLD.shift AND age_group = OLD.age_group AND bin = OLD.bin AND OLD.exposure_use <> 2;
  DELETE FROM log_index_days WHERE site = OLD.site AND day = OLD.day AND shift = OLD.shift AND age_group = OLD.age_group AND bin = OLD.bin AND n = 0;
  UPDATE log_index_projections SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), missing = missing - (CASE WHEN OLD.exposure_use <> 2 AND OLD.exposure_index IS NULL THEN 1 ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND projection = OLD.projection AND age_group = OLD.age_group AND bin = OLD.bin AND OLD.exposure_use <> 2;
  DELETE FROM log_index_projections WHERE site = OLD.site AND month = OLD.month AND projection = OLD.projection AND age_group = OLD.age_group AND bin = OLD.bin AND n = 0;
  UPDATE log_index_rooms SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), missing = missing - (CASE WHEN OLD.exposure_use <> 2 AND OLD.exposure_index IS NULL THEN 1 ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND room = OLD.room AND receptor = OLD.receptor AND bin = OLD.bin AND OLD.exposure_use <> 2;
  DELETE FROM log_index_rooms WHERE site = OLD.site AND month = OLD.month AND room = OLD.room AND receptor = OLD.receptor AND bin = OLD.bin AND n = 0;
  UPDATE log_index_performers SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), missing = missing - (CASE WHEN OLD.exposure_use <> 2 AND OLD.exposure_index IS NULL THEN 1 ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND performer = OLD.performer AND bin = OLD.bin AND OLD.exposure_use <> 2;
  DELETE FROM log_index_performers WHERE site = OLD.site AND month = OLD.month AND performer = OLD.performer AND bin = OLD.bin AND n = 0;
  UPDATE log_day_totals SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND day = OLD.day AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome;
  DELETE FROM log_day_totals WHERE site = OLD.site AND day = OLD.day AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_month_projections SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND projection = OLD.projection AND age_group = OLD.age_group AND outcome = OLD.outcome;
  DELETE FROM log_month_projections WHERE site = OLD.site AND month = OLD.month AND projection = OLD.projection AND age_group = OLD.age_group AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_month_performer_totals SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND performer = OLD.performer AND outcome = OLD.outcome;
  DELETE FROM log_month_performer_totals WHERE site = OLD.site AND month = OLD.month AND performer = OLD.performer AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_month_rooms SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome;
  DELETE FROM log_month_rooms WHERE site = OLD.site AND month = OLD.month AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_year_performer_rooms SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND year = OLD.month / 12 AND performer = OLD.performer AND room = OLD.room AND rejected = CASE WHEN OLD.outcome <> 0 THEN 1 ELSE 0 END;
  DELETE FROM log_year_performer_rooms WHERE site = OLD.site AND year = OLD.month / 12 AND performer = OLD.performer AND room = OLD.room AND rejected = CASE WHEN OLD.outcome <> 0 THEN 1 ELSE 0 END AND n = 0 AND tests = 0;
  UPDATE log_year_performer_projections SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND year = OLD.month / 12 AND performer = OLD.performer AND projection = OLD.projection AND rejected = CASE WHEN OLD.outcome <> 0 THEN 1 ELSE 0 END;
  DELETE FROM log_year_performer_projections WHERE site = OLD.site AND year = OLD.month / 12 AND performer = OLD.performer AND projection = OLD.projection AND rejected = CASE WHEN OLD.outcome <> 0 THEN 1 ELSE 0 END AND n = 0 AND tests = 0;
  UPDATE log_year_room_projections SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND year = OLD.month / 12 AND projection = OLD.projection AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND rejected = CASE WHEN OLD.outcome <> 0 THEN 1 ELSE 0 END;
  DELETE FROM log_year_room_projections WHERE site = OLD.site AND year = OLD.month / 12 AND projection = OLD.projection AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND rejected = CASE WHEN OLD.outcome <> 0 THEN 1 ELSE 0 END AND n = 0 AND tests = 0;
  UPDATE log_index_months SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), missing = missing - (CASE WHEN OLD.exposure_use <> 2 AND OLD.exposure_index IS NULL THEN 1 ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND shift = OLD.shift AND age_group = OLD.age_group AND bin = OLD.bin AND OLD.exposure_use <> 2;
  DELETE FROM log_index_months WHERE site = OLD.site AND month = OLD.month AND shift = OLD.shift AND age_group = OLD.age_group AND bin = OLD.bin AND n = 0;
  UPDATE log_index_year_rooms SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), missing = missing - (CASE WHEN OLD.exposure_use <> 2 AND OLD.exposure_index IS NULL THEN 1 ELSE 0 END)
  WHERE site = OLD.site AND year = OLD.month / 12 AND room = OLD.room AND receptor = OLD.receptor AND bin = OLD.bin AND OLD.exposure_use <> 2;
  DELETE FROM log_index_year_rooms WHERE site = OLD.site AND year = OLD.month / 12 AND room = OLD.room AND receptor = OLD.receptor AND bin = OLD.bin AND n = 0;
  UPDATE log_index_year_projections SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), missing = missing - (CASE WHEN OLD.exposure_use <> 2 AND OLD.exposure_index IS NULL THEN 1 ELSE 0 END)
  WHERE site = OLD.site AND year = OLD.month / 12 AND projection = OLD.projection AND bin = OLD.bin AND OLD.exposure_use <> 2;
  DELETE FROM log_index_year_projections WHERE site = OLD.site AND year = OLD.month / 12 AND projection = OLD.projection AND bin = OLD.bin AND n = 0;
END;

CREATE TRIGGER log_entries_changed AFTER UPDATE OF site, day, month, projection, room, receptor, performer, shift, age_group, exposure_use, is_repeat, outcome, exposure_index, bin, kerma_area_product_dgycm2 ON log_entries BEGIN
  UPDATE log_days SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND day = OLD.day AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome;
  DELETE FROM log_days WHERE site = OLD.site AND day = OLD.day AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_day_projections SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND day = OLD.day AND projection = OLD.projection AND age_group = OLD.age_group AND outcome = OLD.outcome;
  DELETE FROM log_day_projections WHERE site = OLD.site AND day = OLD.day AND projection = OLD.projection AND age_group = OLD.age_group AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_day_performers SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND day = OLD.day AND performer = OLD.performer AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND outcome = OLD.outcome;
  DELETE FROM log_day_performers WHERE site = OLD.site AND day = OLD.day AND performer = OLD.performer AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_months SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND projection = OLD.projection AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome;
  DELETE FROM log_months WHERE site = OLD.site AND month = OLD.month AND projection = OLD.projection AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_month_performers SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND performer = OLD.performer AND projection = OLD.projection AND age_group = OLD.age_group AND outcome = OLD.outcome;
  DELETE FROM log_month_performers WHERE site = OLD.site AND month = OLD.month AND performer = OLD.performer AND projection = OLD.projection AND age_group = OLD.age_group AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_index_days SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), missing = missing - (CASE WHEN OLD.exposure_use <> 2 AND OLD.exposure_index IS NULL THEN 1 ELSE 0 END)
  WHERE site = OLD.site AND day = OLD.day AND shift = OLD.shift AND age_group = OLD.age_group AND bin = OLD.bin AND OLD.exposure_use <> 2;
  DELETE FROM log_index_days WHERE site = OLD.site AND day = OLD.day AND shift = OLD.shift AND age_group = OLD.age_group AND bin = OLD.bin AND n = 0;
  UPDATE log_index_projections SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), missing = missing - (CASE WHEN OLD.exposure_use <> 2 AND OLD.exposure_index IS NULL THEN 1 ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND projection = OLD.projection AND age_group = OLD.age_group AND bin = OLD.bin AND OLD.exposure_use <> 2;
  DELETE FROM log_index_projections WHERE site = OLD.site AND month = OLD.month AND projection = OLD.projection AND age_group = OLD.age_group AND bin = OLD.bin AND n = 0;
  UPDATE log_index_rooms SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), missing = missing - (CASE WHEN OLD.exposure_use <> 2 AND OLD.exposure_index IS NULL THEN 1 ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND room = OLD.room AND receptor = OLD.receptor AND bin = OLD.bin AND OLD.exposure_use <> 2;
  DELETE FROM log_index_rooms WHERE site = OLD.site AND month = OLD.month AND room = OLD.room AND receptor = OLD.receptor AND bin = OLD.bin AND n = 0;
  UPDATE log_index_performers SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), missing = missing - (CASE WHEN OLD.exposure_use <> 2 AND OLD.exposure_index IS NULL THEN 1 ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND performer = OLD.performer AND bin = OLD.bin AND OLD.exposure_use <> 2;
  DELETE FROM log_index_performers WHERE site = OLD.site AND month = OLD.month AND performer = OLD.performer AND bin = OLD.bin AND n = 0;
  UPDATE log_day_totals SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND day = OLD.day AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome;
  DELETE FROM log_day_totals WHERE site = OLD.site AND day = OLD.day AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_month_projections SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND projection = OLD.projection AND age_group = OLD.age_group AND outcome = OLD.outcome;
  DELETE FROM log_month_projections WHERE site = OLD.site AND month = OLD.month AND projection = OLD.projection AND age_group = OLD.age_group AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_month_performer_totals SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND performer = OLD.performer AND outcome = OLD.outcome;
  DELETE FROM log_month_performer_totals WHERE site = OLD.site AND month = OLD.month AND performer = OLD.performer AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_month_rooms SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome;
  DELETE FROM log_month_rooms WHERE site = OLD.site AND month = OLD.month AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND age_group = OLD.age_group AND outcome = OLD.outcome AND n = 0 AND tests = 0;
  UPDATE log_year_performer_rooms SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND year = OLD.month / 12 AND performer = OLD.performer AND room = OLD.room AND rejected = CASE WHEN OLD.outcome <> 0 THEN 1 ELSE 0 END;
  DELETE FROM log_year_performer_rooms WHERE site = OLD.site AND year = OLD.month / 12 AND performer = OLD.performer AND room = OLD.room AND rejected = CASE WHEN OLD.outcome <> 0 THEN 1 ELSE 0 END AND n = 0 AND tests = 0;
  UPDATE log_year_performer_projections SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND year = OLD.month / 12 AND performer = OLD.performer AND projection = OLD.projection AND rejected = CASE WHEN OLD.outcome <> 0 THEN 1 ELSE 0 END;
  DELETE FROM log_year_performer_projections WHERE site = OLD.site AND year = OLD.month / 12 AND performer = OLD.performer AND projection = OLD.projection AND rejected = CASE WHEN OLD.outcome <> 0 THEN 1 ELSE 0 END AND n = 0 AND tests = 0;
  UPDATE log_year_room_projections SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), repeats = repeats - (CASE WHEN OLD.exposure_use <> 2 AND OLD.is_repeat <> 0 THEN 1 ELSE 0 END), tests = tests - (CASE WHEN OLD.exposure_use = 2 THEN 1 ELSE 0 END), kap_n = kap_n - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END), kap_micro = kap_micro - (CASE WHEN OLD.exposure_use <> 2 AND OLD.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(OLD.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END)
  WHERE site = OLD.site AND year = OLD.month / 12 AND projection = OLD.projection AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND rejected = CASE WHEN OLD.outcome <> 0 THEN 1 ELSE 0 END;
  DELETE FROM log_year_room_projections WHERE site = OLD.site AND year = OLD.month / 12 AND projection = OLD.projection AND room = OLD.room AND receptor = OLD.receptor AND shift = OLD.shift AND rejected = CASE WHEN OLD.outcome <> 0 THEN 1 ELSE 0 END AND n = 0 AND tests = 0;
  UPDATE log_index_months SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), missing = missing - (CASE WHEN OLD.exposure_use <> 2 AND OLD.exposure_index IS NULL THEN 1 ELSE 0 END)
  WHERE site = OLD.site AND month = OLD.month AND shift = OLD.shift AND age_group = OLD.age_group AND bin = OLD.bin AND OLD.exposure_use <> 2;
  DELETE FROM log_index_months WHERE site = OLD.site AND month = OLD.month AND shift = OLD.shift AND age_group = OLD.age_group AND bin = OLD.bin AND n = 0;
  UPDATE log_index_year_rooms SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), missing = missing - (CASE WHEN OLD.exposure_use <> 2 AND OLD.exposure_index IS NULL THEN 1 ELSE 0 END)
  WHERE site = OLD.site AND year = OLD.month / 12 AND room = OLD.room AND receptor = OLD.receptor AND bin = OLD.bin AND OLD.exposure_use <> 2;
  DELETE FROM log_index_year_rooms WHERE site = OLD.site AND year = OLD.month / 12 AND room = OLD.room AND receptor = OLD.receptor AND bin = OLD.bin AND n = 0;
  UPDATE log_index_year_projections SET n = n - (CASE WHEN OLD.exposure_use <> 2 THEN 1 ELSE 0 END), missing = missing - (CASE WHEN OLD.exposure_use <> 2 AND OLD.exposure_index IS NULL THEN 1 ELSE 0 END)
  WHERE site = OLD.site AND year = OLD.month / 12 AND projection = OLD.projection AND bin = OLD.bin AND OLD.exposure_use <> 2;
  DELETE FROM log_index_year_projections WHERE site = OLD.site AND year = OLD.month / 12 AND projection = OLD.projection AND bin = OLD.bin AND n = 0;
  INSERT INTO log_days (site, day, room, receptor, shift, age_group, outcome, month, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.day, NEW.room, NEW.receptor, NEW.shift, NEW.age_group, NEW.outcome, NEW.month, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, day, room, receptor, shift, age_group, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_day_projections (site, day, projection, age_group, outcome, month, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.day, NEW.projection, NEW.age_group, NEW.outcome, NEW.month, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, day, projection, age_group, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_day_performers (site, day, performer, room, receptor, shift, outcome, month, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.day, NEW.performer, NEW.room, NEW.receptor, NEW.shift, NEW.outcome, NEW.month, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, day, performer, room, receptor, shift, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_months (site, month, projection, room, receptor, shift, age_group, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month, NEW.projection, NEW.room, NEW.receptor, NEW.shift, NEW.age_group, NEW.outcome, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, month, projection, room, receptor, shift, age_group, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_month_performers (site, month, performer, projection, age_group, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month, NEW.performer, NEW.projection, NEW.age_group, NEW.outcome, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, month, performer, projection, age_group, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_index_days (site, day, shift, age_group, bin, month, n, missing)
  SELECT NEW.site, NEW.day, NEW.shift, NEW.age_group, NEW.bin, NEW.month, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.exposure_index IS NULL THEN 1 ELSE 0 END WHERE NEW.exposure_use <> 2
  ON CONFLICT (site, day, shift, age_group, bin) DO UPDATE SET n = n + excluded.n, missing = missing + excluded.missing;
  INSERT INTO log_index_projections (site, month, projection, age_group, bin, n, missing)
  SELECT NEW.site, NEW.month, NEW.projection, NEW.age_group, NEW.bin, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.exposure_index IS NULL THEN 1 ELSE 0 END WHERE NEW.exposure_use <> 2
  ON CONFLICT (site, month, projection, age_group, bin) DO UPDATE SET n = n + excluded.n, missing = missing + excluded.missing;
  INSERT INTO log_index_rooms (site, month, room, receptor, bin, n, missing)
  SELECT NEW.site, NEW.month, NEW.room, NEW.receptor, NEW.bin, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.exposure_index IS NULL THEN 1 ELSE 0 END WHERE NEW.exposure_use <> 2
  ON CONFLICT (site, month, room, receptor, bin) DO UPDATE SET n = n + excluded.n, missing = missing + excluded.missing;
  INSERT INTO log_index_performers (site, month, performer, bin, n, missing)
  SELECT NEW.site, NEW.month, NEW.performer, NEW.bin, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.exposure_index IS NULL THEN 1 ELSE 0 END WHERE NEW.exposure_use <> 2
  ON CONFLICT (site, month, performer, bin) DO UPDATE SET n = n + excluded.n, missing = missing + excluded.missing;
  INSERT INTO log_day_totals (site, day, shift, age_group, outcome, month, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.day, NEW.shift, NEW.age_group, NEW.outcome, NEW.month, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, day, shift, age_group, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_month_projections (site, month, projection, age_group, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month, NEW.projection, NEW.age_group, NEW.outcome, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, month, projection, age_group, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_month_performer_totals (site, month, performer, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month, NEW.performer, NEW.outcome, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, month, performer, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_month_rooms (site, month, room, receptor, shift, age_group, outcome, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month, NEW.room, NEW.receptor, NEW.shift, NEW.age_group, NEW.outcome, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, month, room, receptor, shift, age_group, outcome) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_year_performer_rooms (site, year, performer, room, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month / 12, NEW.performer, NEW.room, CASE WHEN NEW.outcome <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, year, performer, room, rejected) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_year_performer_projections (site, year, performer, projection, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month / 12, NEW.performer, NEW.projection, CASE WHEN NEW.outcome <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, year, performer, projection, rejected) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_year_room_projections (site, year, projection, room, receptor, shift, rejected, n, repeats, tests, kap_n, kap_micro)
  SELECT NEW.site, NEW.month / 12, NEW.projection, NEW.room, NEW.receptor, NEW.shift, CASE WHEN NEW.outcome <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.is_repeat <> 0 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use = 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(NEW.kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END WHERE 1
  ON CONFLICT (site, year, projection, room, receptor, shift, rejected) DO UPDATE SET n = n + excluded.n, repeats = repeats + excluded.repeats, tests = tests + excluded.tests, kap_n = kap_n + excluded.kap_n, kap_micro = kap_micro + excluded.kap_micro;
  INSERT INTO log_index_months (site, month, shift, age_group, bin, n, missing)
  SELECT NEW.site, NEW.month, NEW.shift, NEW.age_group, NEW.bin, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.exposure_index IS NULL THEN 1 ELSE 0 END WHERE NEW.exposure_use <> 2
  ON CONFLICT (site, month, shift, age_group, bin) DO UPDATE SET n = n + excluded.n, missing = missing + excluded.missing;
  INSERT INTO log_index_year_rooms (site, year, room, receptor, bin, n, missing)
  SELECT NEW.site, NEW.month / 12, NEW.room, NEW.receptor, NEW.bin, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.exposure_index IS NULL THEN 1 ELSE 0 END WHERE NEW.exposure_use <> 2
  ON CONFLICT (site, year, room, receptor, bin) DO UPDATE SET n = n + excluded.n, missing = missing + excluded.missing;
  INSERT INTO log_index_year_projections (site, year, projection, bin, n, missing)
  SELECT NEW.site, NEW.month / 12, NEW.projection, NEW.bin, CASE WHEN NEW.exposure_use <> 2 THEN 1 ELSE 0 END, CASE WHEN NEW.exposure_use <> 2 AND NEW.exposure_index IS NULL THEN 1 ELSE 0 END WHERE NEW.exposure_use <> 2
  ON CONFLICT (site, year, projection, bin) DO UPDATE SET n = n + excluded.n, missing = missing + excluded.missing;
END;
