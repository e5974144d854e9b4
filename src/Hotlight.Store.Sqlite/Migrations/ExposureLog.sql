-- The log of exposures, its names, its bringings-in and its summaries. docs/records.md explains every table.
CREATE TABLE log_names (
  id INTEGER PRIMARY KEY,
  kind INTEGER NOT NULL,
  name TEXT NOT NULL,
  UNIQUE (kind, name)
);

CREATE TABLE log_imports (
  seq INTEGER PRIMARY KEY,
  id BLOB NOT NULL UNIQUE,
  site INTEGER NOT NULL,
  title TEXT NOT NULL,
  source INTEGER NOT NULL,
  at INTEGER NOT NULL,
  given_by BLOB,
  added INTEGER NOT NULL,
  completed INTEGER NOT NULL,
  known INTEGER NOT NULL,
  is_taken_back INTEGER NOT NULL
);

CREATE TABLE log_entries (
  seq INTEGER PRIMARY KEY,
  id BLOB NOT NULL,
  site INTEGER NOT NULL,
  entry_key TEXT NOT NULL,
  exposed_at INTEGER NOT NULL,
  day INTEGER NOT NULL,
  month INTEGER NOT NULL,
  projection INTEGER NOT NULL,
  given_projection INTEGER NOT NULL,
  room INTEGER NOT NULL,
  receptor INTEGER NOT NULL,
  performer INTEGER NOT NULL,
  shift INTEGER NOT NULL,
  age_group INTEGER NOT NULL,
  exposure_use INTEGER NOT NULL,
  is_repeat INTEGER NOT NULL,
  reason INTEGER NOT NULL,
  outcome INTEGER NOT NULL,
  exposure_index REAL,
  target_exposure_index REAL,
  deviation_index REAL,
  bin INTEGER NOT NULL,
  tube_voltage_kvp REAL,
  exposure_mas REAL,
  kerma_area_product_dgycm2 REAL,
  patient_key TEXT,
  examination_key TEXT,
  case_id BLOB,
  source INTEGER NOT NULL,
  import INTEGER,
  UNIQUE (site, entry_key)
);
CREATE INDEX log_entries_time ON log_entries (site, exposed_at);
CREATE INDEX log_entries_projection ON log_entries (site, projection, exposed_at);
CREATE INDEX log_entries_performer ON log_entries (site, performer, exposed_at);
CREATE INDEX log_entries_rejected ON log_entries (site, outcome, exposed_at) WHERE outcome <> 0;
CREATE INDEX log_entries_import ON log_entries (import) WHERE import IS NOT NULL;
CREATE INDEX log_entries_case ON log_entries (case_id) WHERE case_id IS NOT NULL;

CREATE TABLE log_days (
  site INTEGER NOT NULL,
  day INTEGER NOT NULL,
  room INTEGER NOT NULL,
  receptor INTEGER NOT NULL,
  shift INTEGER NOT NULL,
  age_group INTEGER NOT NULL,
  outcome INTEGER NOT NULL,
  month INTEGER NOT NULL,
  n INTEGER NOT NULL,
  repeats INTEGER NOT NULL,
  tests INTEGER NOT NULL,
  kap_n INTEGER NOT NULL,
  kap_micro INTEGER NOT NULL,
  PRIMARY KEY (site, day, room, receptor, shift, age_group, outcome)
) WITHOUT ROWID;

CREATE TABLE log_day_projections (
  site INTEGER NOT NULL,
  day INTEGER NOT NULL,
  projection INTEGER NOT NULL,
  age_group INTEGER NOT NULL,
  outcome INTEGER NOT NULL,
  month INTEGER NOT NULL,
  n INTEGER NOT NULL,
  repeats INTEGER NOT NULL,
  tests INTEGER NOT NULL,
  kap_n INTEGER NOT NULL,
  kap_micro INTEGER NOT NULL,
  PRIMARY KEY (site, day, projection, age_group, outcome)
) WITHOUT ROWID;

CREATE TABLE log_day_performers (
  site INTEGER NOT NULL,
  day INTEGER NOT NULL,
  performer INTEGER NOT NULL,
  room INTEGER NOT NULL,
  receptor INTEGER NOT NULL,
  shift INTEGER NOT NULL,
  outcome INTEGER NOT NULL,
  month INTEGER NOT NULL,
  n INTEGER NOT NULL,
  repeats INTEGER NOT NULL,
  tests INTEGER NOT NULL,
  kap_n INTEGER NOT NULL,
  kap_micro INTEGER NOT NULL,
  PRIMARY KEY (site, day, performer, room, receptor, shift, outcome)
) WITHOUT ROWID;

CREATE TABLE log_months (
  site INTEGER NOT NULL,
  month INTEGER NOT NULL,
  projection INTEGER NOT NULL,
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
  PRIMARY KEY (site, month, projection, room, receptor, shift, age_group, outcome)
) WITHOUT ROWID;

CREATE TABLE log_month_performers (
  site INTEGER NOT NULL,
  month INTEGER NOT NULL,
  performer INTEGER NOT NULL,
  projection INTEGER NOT NULL,
  age_group INTEGER NOT NULL,
  outcome INTEGER NOT NULL,
  n INTEGER NOT NULL,
  repeats INTEGER NOT NULL,
  tests INTEGER NOT NULL,
  kap_n INTEGER NOT NULL,
  kap_micro INTEGER NOT NULL,
  PRIMARY KEY (site, month, performer, projection, age_group, outcome)
) WITHOUT ROWID;

CREATE TABLE log_index_days (
  site INTEGER NOT NULL,
  day INTEGER NOT NULL,
  shift INTEGER NOT NULL,
  age_group INTEGER NOT NULL,
  bin INTEGER NOT NULL,
  month INTEGER NOT NULL,
  n INTEGER NOT NULL,
  missing INTEGER NOT NULL,
  PRIMARY KEY (site, day, shift, age_group, bin)
) WITHOUT ROWID;

CREATE TABLE log_index_projections (
  site INTEGER NOT NULL,
  month INTEGER NOT NULL,
  projection INTEGER NOT NULL,
  age_group INTEGER NOT NULL,
  bin INTEGER NOT NULL,
  n INTEGER NOT NULL,
  missing INTEGER NOT NULL,
  PRIMARY KEY (site, month, projection, age_group, bin)
) WITHOUT ROWID;

CREATE TABLE log_index_rooms (
  site INTEGER NOT NULL,
  month INTEGER NOT NULL,
  room INTEGER NOT NULL,
  receptor INTEGER NOT NULL,
  bin INTEGER NOT NULL,
  n INTEGER NOT NULL,
  missing INTEGER NOT NULL,
  PRIMARY KEY (site, month, room, receptor, bin)
) WITHOUT ROWID;

CREATE TABLE log_index_performers (
  site INTEGER NOT NULL,
  month INTEGER NOT NULL,
  performer INTEGER NOT NULL,
  bin INTEGER NOT NULL,
  n INTEGER NOT NULL,
  missing INTEGER NOT NULL,
  PRIMARY KEY (site, month, performer, bin)
) WITHOUT ROWID;

-- What every entry adds to the summaries.
CREATE VIEW log_facts AS SELECT site, day, month, projection, room, receptor, performer, shift, age_group, outcome, bin,
  CASE WHEN exposure_use <> 2 THEN 1 ELSE 0 END AS n,
  CASE WHEN exposure_use <> 2 AND is_repeat <> 0 THEN 1 ELSE 0 END AS repeats,
  CASE WHEN exposure_use = 2 THEN 1 ELSE 0 END AS tests,
  CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN 1 ELSE 0 END AS kap_n,
  CASE WHEN exposure_use <> 2 AND kerma_area_product_dgycm2 IS NOT NULL THEN CAST(round(kerma_area_product_dgycm2 * 1000000.0) AS INTEGER) ELSE 0 END AS kap_micro,
  CASE WHEN exposure_use <> 2 AND exposure_index IS NULL THEN 1 ELSE 0 END AS missing
FROM log_entries;

CREATE TRIGGER log_entries_added AFTER INSERT ON log_entries BEGIN
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
END;
