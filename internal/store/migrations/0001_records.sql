-- The records of a bench.
--
-- Facts are only ever added. Each has a row in fact (who, when, in which order,
-- its digest) and one in the table of its kind, under the same key. Lengths
-- are whole nanometres; times are UTC with the local offset beside.
--
-- The guards are triggers, not keys alone: INSERT OR REPLACE deletes the row
-- in its way without firing DELETE triggers, and a shell has foreign keys off.
-- Tables have no rowid, so that a row can't be replaced through one.

CREATE TABLE meta (
  key        TEXT NOT NULL PRIMARY KEY,
  value      TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE shift (
  id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
  started    TEXT NOT NULL, started_offset TEXT NOT NULL,
  place      TEXT NOT NULL,
  bander     TEXT NOT NULL,
  scribe     TEXT NOT NULL,
  permit     TEXT NOT NULL,
  catalogue  TEXT NOT NULL,
  training   INTEGER NOT NULL CHECK (training IN (0, 1)),
  clock_behind_ms INTEGER NOT NULL CHECK (clock_behind_ms >= 0),
  digest     TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE closure_declaration (
  closure    TEXT NOT NULL,
  version    INTEGER NOT NULL CHECK (version >= 1),
  declared   TEXT NOT NULL,
  statements TEXT NOT NULL CHECK (json_valid(statements) AND json_array_length(statements) >= 1),
  PRIMARY KEY (closure, version)
) STRICT, WITHOUT ROWID;

CREATE TABLE handling (
  id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
  shift      TEXT NOT NULL REFERENCES shift (id)
) STRICT, WITHOUT ROWID;

CREATE TABLE fact (
  handling   TEXT NOT NULL REFERENCES handling (id),
  seq        INTEGER NOT NULL CHECK (seq >= 1),
  kind       TEXT NOT NULL CHECK (kind IN ('bird', 'reading', 'set_aside', 'estimate', 'size', 'band',
                 'closing', 'statement', 'read_back', 'left', 'fate', 'incident', 'resolved', 'completion')),
  at         TEXT NOT NULL, at_offset TEXT NOT NULL,
  entered    TEXT NOT NULL, entered_offset TEXT NOT NULL,
  by         TEXT NOT NULL,
  typed      TEXT NOT NULL,
  replaces   INTEGER NOT NULL DEFAULT 0,
  why        TEXT NOT NULL DEFAULT '',
  digest     TEXT NOT NULL CHECK (length(digest) = 64),
  PRIMARY KEY (handling, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE fact_bird (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  species    TEXT NOT NULL,
  age        TEXT NOT NULL,
  sex        TEXT NOT NULL,
  leg        TEXT NOT NULL CHECK (leg IN ('', 'left', 'right')),
  site       TEXT NOT NULL CHECK (site IN ('below', 'above')),
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE fact_reading (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  axis       TEXT NOT NULL CHECK (axis IN ('greatest', 'cross', 'wall')),
  means      TEXT NOT NULL CHECK (means IN ('caliper', 'typed')),
  raw        BLOB NOT NULL,
  value_nm   INTEGER NOT NULL CHECK (value_nm > 0),
  unit       TEXT NOT NULL CHECK (unit IN ('mm', 'in')),
  unit_assumed INTEGER NOT NULL CHECK (unit_assumed IN (0, 1)),
  resolution_nm INTEGER NOT NULL CHECK (resolution_nm > 0),
  device     TEXT NOT NULL,
  channel    TEXT NOT NULL,
  feathers   TEXT NOT NULL CHECK (feathers IN ('', 'over', 'under')),
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE fact_set_aside (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  reading    INTEGER NOT NULL,
  reason     TEXT NOT NULL CHECK (reason <> ''),
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE fact_estimate (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  readings   TEXT NOT NULL CHECK (json_valid(readings)),
  n          INTEGER NOT NULL CHECK (n >= 1),
  mean_mm    REAL NOT NULL,
  u_mm       REAL NOT NULL CHECK (u_mm > 0),
  dof        REAL,
  expanded_mm REAL NOT NULL,
  coverage_factor REAL NOT NULL,
  calibrated INTEGER NOT NULL CHECK (calibrated IN (0, 1)),
  range_mm   REAL NOT NULL,
  critical_range_mm REAL NOT NULL,
  agrees     INTEGER NOT NULL CHECK (agrees IN (0, 1)),
  calibration TEXT NOT NULL,
  calibration_state TEXT NOT NULL CHECK (calibration_state IN ('in force', 'expired', 'missing', 'late')),
  feathers   TEXT NOT NULL CHECK (feathers IN ('', 'over', 'under')),
  detail     TEXT NOT NULL CHECK (json_valid(detail)),
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE fact_size (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  size       TEXT NOT NULL CHECK (size <> ''),
  metal      TEXT NOT NULL CHECK (metal <> ''),
  closure    TEXT NOT NULL CHECK (closure <> ''),
  method     TEXT NOT NULL CHECK (method IN ('caliper', 'leg gauge', 'established', 'not measured')),
  slot       TEXT NOT NULL, -- of the leg gauge
  estimate   INTEGER NOT NULL,
  verdict    TEXT NOT NULL,
  play       REAL NOT NULL,
  p_tight    REAL NOT NULL,
  p_loose    REAL NOT NULL,
  reason     TEXT NOT NULL,
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq),
  CHECK ((method = 'leg gauge') = (slot <> ''))
) STRICT, WITHOUT ROWID;

CREATE TABLE fact_band (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  band       INTEGER NOT NULL,
  event      TEXT NOT NULL CHECK (event IN ('planned', 'returned', 'renumbered', 'settled', 'found', 'removed')),
  number     TEXT NOT NULL CHECK (number <> '' AND number NOT GLOB '*[^0-9A-Za-z?. -]*'),
  leg        TEXT NOT NULL CHECK (leg IN ('', 'left', 'right')),
  site       TEXT NOT NULL CHECK (site IN ('below', 'above')),
  conflict   TEXT NOT NULL CHECK (conflict IN ('', 'used', 'destroyed', 'in hand', 'unknown')),
  other      TEXT NOT NULL,
  condition  TEXT NOT NULL,
  scheme     TEXT NOT NULL,
  closure    TEXT NOT NULL,
  done       TEXT NOT NULL CHECK (done IN ('', 'left', 'worked', 'replaced')),
  reason     TEXT NOT NULL,
  stock_size TEXT NOT NULL DEFAULT '', stock_metal TEXT NOT NULL DEFAULT '', -- the number's, as the stock had them then
  skipped    TEXT NOT NULL DEFAULT '', -- the number before it in order, passed over for this reason
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq),
  CHECK ((event = 'found') = (done <> '')),
  CHECK (event = 'found' OR number NOT GLOB '*[?]*' OR event IN ('removed', 'renumbered', 'settled')),
  CHECK ((event IN ('planned', 'found')) = (band = seq)),
  CHECK (event NOT IN ('removed', 'settled') OR reason <> '')
) STRICT, WITHOUT ROWID;

CREATE TABLE fact_closing (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  band       INTEGER NOT NULL,
  findings   TEXT NOT NULL CHECK (json_valid(findings) AND json_type(findings) = 'array'),
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE fact_statement (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  closing    INTEGER NOT NULL,
  statement  TEXT NOT NULL CHECK (statement <> ''),
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE fact_read_back (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  closing    INTEGER NOT NULL,
  digits     TEXT NOT NULL CHECK (length(digits) >= 3 AND digits NOT GLOB '*[^0-9A-Za-z. -]*'),
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE fact_left (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE fact_fate (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  fate       TEXT NOT NULL CHECK (fate IN ('banded', 'unbanded', 'unconfirmed', 'escaped', 'died')),
  reason     TEXT NOT NULL,
  decided_by TEXT NOT NULL,
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq),
  CHECK (fate <> 'unconfirmed' OR reason <> '')
) STRICT, WITHOUT ROWID;

CREATE TABLE fact_incident (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  kind       TEXT NOT NULL CHECK (kind <> ''),
  note       TEXT NOT NULL,
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE fact_resolved (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  reason     TEXT NOT NULL CHECK (reason <> ''),
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE fact_completion (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq)
) STRICT, WITHOUT ROWID;

CREATE INDEX fact_band_number ON fact_band (number);
CREATE INDEX fact_bird_species ON fact_bird (species, handling);
CREATE INDEX handling_shift ON handling (shift);

-- open_handling lists the handlings that are not settled, so that a bench with
-- a hundred thousand birds reopens as fast as a new one. Triggers keep it.
CREATE TABLE open_handling (
  handling   TEXT NOT NULL PRIMARY KEY REFERENCES handling (id)
) STRICT, WITHOUT ROWID;

-- What the facts say together.

-- band_now: each band of each handling as it stands.
CREATE VIEW band_now AS
SELECT b.handling, b.seq AS band,
       (SELECT n.number FROM fact_band n WHERE n.handling = b.handling AND n.band = b.seq
         AND n.event IN ('planned', 'renumbered', 'settled', 'found') ORDER BY n.seq DESC LIMIT 1) AS number,
       b.event = 'found' AS found, b.done,
       (SELECT n.conflict FROM fact_band n WHERE n.handling = b.handling AND n.band = b.seq
         AND n.event IN ('planned', 'renumbered', 'settled', 'found') ORDER BY n.seq DESC LIMIT 1) AS conflict,
       (SELECT n.other FROM fact_band n WHERE n.handling = b.handling AND n.band = b.seq
         AND n.event IN ('planned', 'renumbered', 'settled', 'found') ORDER BY n.seq DESC LIMIT 1) AS other,
       CASE
         WHEN EXISTS (SELECT 1 FROM fact_band r WHERE r.handling = b.handling AND r.band = b.seq AND r.event = 'removed') THEN 'destroyed'
         WHEN EXISTS (SELECT 1 FROM fact_band r WHERE r.handling = b.handling AND r.band = b.seq AND r.event = 'returned') THEN 'put back'
         WHEN b.event = 'found' THEN 'on bird'
         WHEN EXISTS (SELECT 1 FROM fact_closing c WHERE c.handling = b.handling AND c.band = b.seq) THEN 'on bird'
         ELSE 'opened'
       END AS state,
       b.leg, b.site, b.condition, b.scheme, b.closure,
       (SELECT n.seq FROM fact_band n WHERE n.handling = b.handling AND n.band = b.seq
         AND n.event IN ('planned', 'renumbered', 'settled', 'found') ORDER BY n.seq DESC LIMIT 1) AS named
FROM fact_band b WHERE b.event IN ('planned', 'found');

-- claim: a number that a handling claims for its bird. A band that the bird
-- wore already is the same bird come back, not a claim.
CREATE VIEW claim AS
SELECT handling, band, number, state FROM band_now WHERE NOT found AND state IN ('opened', 'on bird', 'destroyed');

-- disputed: the handlings whose numbers stand against another record: another
-- bird's, the stock's, or the size that was chosen in this one.
CREATE VIEW disputed AS
SELECT DISTINCT b.handling FROM band_now b
WHERE (b.found AND b.state = 'on bird' AND b.conflict = 'destroyed')
   OR NOT b.found AND b.state IN ('opened', 'on bird', 'destroyed') AND (b.conflict = 'unknown'
   OR (b.conflict = 'destroyed' AND b.other IN ('', b.handling))
   OR (b.state <> 'destroyed' AND EXISTS (
         SELECT 1 FROM fact_band k JOIN fact_size z ON z.handling = k.handling
          AND z.seq = (SELECT max(y.seq) FROM fact_size y WHERE y.handling = k.handling)
         WHERE k.handling = b.handling AND k.seq = b.named AND k.stock_size <> ''
           AND (z.size <> k.stock_size OR z.metal <> k.stock_metal)))
   OR EXISTS (SELECT 1 FROM fact_band o JOIN claim c ON c.handling = o.handling AND c.number = o.number
              WHERE o.number = b.number AND o.handling <> b.handling));

-- worked_band: the band being worked on, if any, with its closure kind.
CREATE VIEW worked_band AS
SELECT handling, band, number, state,
       CASE WHEN found AND closure = '' THEN 'butt-end'
            WHEN found THEN closure
            ELSE (SELECT s.closure FROM fact_size s WHERE s.handling = band_now.handling ORDER BY s.seq DESC LIMIT 1)
       END AS closure
FROM band_now WHERE state = 'opened' OR (state = 'on bird' AND (NOT found OR done = 'worked'));

-- last_closing: the last closing of the band being worked on.
CREATE VIEW last_closing AS
SELECT w.handling, w.band, w.number, w.closure, c.seq, c.findings FROM worked_band w
JOIN fact_closing c ON c.handling = w.handling AND c.band = w.band
 AND c.seq = (SELECT max(l.seq) FROM fact_closing l WHERE l.handling = w.handling AND l.band = w.band);

-- declared: the statements that each closure kind asks for now.
CREATE VIEW declared AS
SELECT d.closure, st.value AS statement FROM closure_declaration d, json_each(d.statements) st
WHERE d.version = (SELECT max(v.version) FROM closure_declaration v WHERE v.closure = d.closure);

-- confirmed: the handlings whose last closing looked flush, was stated so in
-- every point that its closure kind declares, and whose number was read back
-- off the closed band ("?" in a found band's number is a digit nobody can read)
-- or, after it was read back, settled against another record.
CREATE VIEW confirmed AS
SELECT l.handling, l.band FROM last_closing l
WHERE l.findings = '[]'
  AND EXISTS (SELECT 1 FROM declared d WHERE d.closure = l.closure)
  AND NOT EXISTS (SELECT 1 FROM declared d WHERE d.closure = l.closure AND NOT EXISTS (
        SELECT 1 FROM fact_statement m WHERE m.handling = l.handling AND m.closing = l.seq AND m.statement = d.statement))
  AND EXISTS (
        SELECT 1 FROM fact_read_back r WHERE r.handling = l.handling AND r.closing = l.seq
         AND r.seq = (SELECT max(x.seq) FROM fact_read_back x WHERE x.handling = l.handling AND x.closing = l.seq)
         AND (upper(replace(replace(r.digits, '-', ''), ' ', ''))
              GLOB substr(upper(replace(replace(l.number, '-', ''), ' ', '')), -length(replace(replace(r.digits, '-', ''), ' ', '')))
              OR EXISTS (SELECT 1 FROM fact_band t WHERE t.handling = l.handling AND t.band = l.band AND t.event = 'settled' AND t.seq > r.seq)));

-- unconfirmed: the handlings with a band applied or worked on that is not.
CREATE VIEW unconfirmed AS
SELECT w.handling, w.band FROM worked_band w
WHERE NOT EXISTS (SELECT 1 FROM confirmed c WHERE c.handling = w.handling AND c.band = w.band);

-- Nothing is changed, deleted or replaced.

CREATE TRIGGER meta_no_update BEFORE UPDATE ON meta BEGIN SELECT RAISE(ABORT, 'seamfit: meta is append-only'); END;
CREATE TRIGGER meta_no_delete BEFORE DELETE ON meta BEGIN SELECT RAISE(ABORT, 'seamfit: meta is append-only'); END;
CREATE TRIGGER meta_no_replace BEFORE INSERT ON meta WHEN EXISTS (SELECT 1 FROM meta WHERE key = NEW.key)
BEGIN SELECT RAISE(ABORT, 'seamfit: meta is append-only'); END;

CREATE TRIGGER shift_no_update BEFORE UPDATE ON shift BEGIN SELECT RAISE(ABORT, 'seamfit: shift is append-only'); END;
CREATE TRIGGER shift_no_delete BEFORE DELETE ON shift BEGIN SELECT RAISE(ABORT, 'seamfit: shift is append-only'); END;
CREATE TRIGGER shift_no_replace BEFORE INSERT ON shift WHEN EXISTS (SELECT 1 FROM shift WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'seamfit: shift is append-only'); END;

CREATE TRIGGER closure_declaration_no_update BEFORE UPDATE ON closure_declaration BEGIN SELECT RAISE(ABORT, 'seamfit: closure_declaration is append-only'); END;
CREATE TRIGGER closure_declaration_no_delete BEFORE DELETE ON closure_declaration BEGIN SELECT RAISE(ABORT, 'seamfit: closure_declaration is append-only'); END;
CREATE TRIGGER closure_declaration_no_replace BEFORE INSERT ON closure_declaration WHEN EXISTS (SELECT 1 FROM closure_declaration WHERE closure = NEW.closure AND version = NEW.version)
BEGIN SELECT RAISE(ABORT, 'seamfit: closure_declaration is append-only'); END;

CREATE TRIGGER handling_no_update BEFORE UPDATE ON handling BEGIN SELECT RAISE(ABORT, 'seamfit: handling is append-only'); END;
CREATE TRIGGER handling_no_delete BEFORE DELETE ON handling BEGIN SELECT RAISE(ABORT, 'seamfit: handling is append-only'); END;
CREATE TRIGGER handling_no_replace BEFORE INSERT ON handling WHEN EXISTS (SELECT 1 FROM handling WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'seamfit: handling is append-only'); END;

CREATE TRIGGER fact_no_update BEFORE UPDATE ON fact BEGIN SELECT RAISE(ABORT, 'seamfit: fact is append-only'); END;
CREATE TRIGGER fact_no_delete BEFORE DELETE ON fact BEGIN SELECT RAISE(ABORT, 'seamfit: fact is append-only'); END;
CREATE TRIGGER fact_no_replace BEFORE INSERT ON fact WHEN EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact is append-only'); END;

CREATE TRIGGER fact_bird_no_update BEFORE UPDATE ON fact_bird BEGIN SELECT RAISE(ABORT, 'seamfit: fact_bird is append-only'); END;
CREATE TRIGGER fact_bird_no_delete BEFORE DELETE ON fact_bird BEGIN SELECT RAISE(ABORT, 'seamfit: fact_bird is append-only'); END;
CREATE TRIGGER fact_bird_no_replace BEFORE INSERT ON fact_bird WHEN EXISTS (SELECT 1 FROM fact_bird WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_bird is append-only'); END;

CREATE TRIGGER fact_reading_no_update BEFORE UPDATE ON fact_reading BEGIN SELECT RAISE(ABORT, 'seamfit: fact_reading is append-only'); END;
CREATE TRIGGER fact_reading_no_delete BEFORE DELETE ON fact_reading BEGIN SELECT RAISE(ABORT, 'seamfit: fact_reading is append-only'); END;
CREATE TRIGGER fact_reading_no_replace BEFORE INSERT ON fact_reading WHEN EXISTS (SELECT 1 FROM fact_reading WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_reading is append-only'); END;

CREATE TRIGGER fact_set_aside_no_update BEFORE UPDATE ON fact_set_aside BEGIN SELECT RAISE(ABORT, 'seamfit: fact_set_aside is append-only'); END;
CREATE TRIGGER fact_set_aside_no_delete BEFORE DELETE ON fact_set_aside BEGIN SELECT RAISE(ABORT, 'seamfit: fact_set_aside is append-only'); END;
CREATE TRIGGER fact_set_aside_no_replace BEFORE INSERT ON fact_set_aside WHEN EXISTS (SELECT 1 FROM fact_set_aside WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_set_aside is append-only'); END;

CREATE TRIGGER fact_estimate_no_update BEFORE UPDATE ON fact_estimate BEGIN SELECT RAISE(ABORT, 'seamfit: fact_estimate is append-only'); END;
CREATE TRIGGER fact_estimate_no_delete BEFORE DELETE ON fact_estimate BEGIN SELECT RAISE(ABORT, 'seamfit: fact_estimate is append-only'); END;
CREATE TRIGGER fact_estimate_no_replace BEFORE INSERT ON fact_estimate WHEN EXISTS (SELECT 1 FROM fact_estimate WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_estimate is append-only'); END;

CREATE TRIGGER fact_size_no_update BEFORE UPDATE ON fact_size BEGIN SELECT RAISE(ABORT, 'seamfit: fact_size is append-only'); END;
CREATE TRIGGER fact_size_no_delete BEFORE DELETE ON fact_size BEGIN SELECT RAISE(ABORT, 'seamfit: fact_size is append-only'); END;
CREATE TRIGGER fact_size_no_replace BEFORE INSERT ON fact_size WHEN EXISTS (SELECT 1 FROM fact_size WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_size is append-only'); END;

CREATE TRIGGER fact_band_no_update BEFORE UPDATE ON fact_band BEGIN SELECT RAISE(ABORT, 'seamfit: fact_band is append-only'); END;
CREATE TRIGGER fact_band_no_delete BEFORE DELETE ON fact_band BEGIN SELECT RAISE(ABORT, 'seamfit: fact_band is append-only'); END;
CREATE TRIGGER fact_band_no_replace BEFORE INSERT ON fact_band WHEN EXISTS (SELECT 1 FROM fact_band WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_band is append-only'); END;

CREATE TRIGGER fact_closing_no_update BEFORE UPDATE ON fact_closing BEGIN SELECT RAISE(ABORT, 'seamfit: fact_closing is append-only'); END;
CREATE TRIGGER fact_closing_no_delete BEFORE DELETE ON fact_closing BEGIN SELECT RAISE(ABORT, 'seamfit: fact_closing is append-only'); END;
CREATE TRIGGER fact_closing_no_replace BEFORE INSERT ON fact_closing WHEN EXISTS (SELECT 1 FROM fact_closing WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_closing is append-only'); END;

CREATE TRIGGER fact_statement_no_update BEFORE UPDATE ON fact_statement BEGIN SELECT RAISE(ABORT, 'seamfit: fact_statement is append-only'); END;
CREATE TRIGGER fact_statement_no_delete BEFORE DELETE ON fact_statement BEGIN SELECT RAISE(ABORT, 'seamfit: fact_statement is append-only'); END;
CREATE TRIGGER fact_statement_no_replace BEFORE INSERT ON fact_statement WHEN EXISTS (SELECT 1 FROM fact_statement WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_statement is append-only'); END;

CREATE TRIGGER fact_read_back_no_update BEFORE UPDATE ON fact_read_back BEGIN SELECT RAISE(ABORT, 'seamfit: fact_read_back is append-only'); END;
CREATE TRIGGER fact_read_back_no_delete BEFORE DELETE ON fact_read_back BEGIN SELECT RAISE(ABORT, 'seamfit: fact_read_back is append-only'); END;
CREATE TRIGGER fact_read_back_no_replace BEFORE INSERT ON fact_read_back WHEN EXISTS (SELECT 1 FROM fact_read_back WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_read_back is append-only'); END;

CREATE TRIGGER fact_left_no_update BEFORE UPDATE ON fact_left BEGIN SELECT RAISE(ABORT, 'seamfit: fact_left is append-only'); END;
CREATE TRIGGER fact_left_no_delete BEFORE DELETE ON fact_left BEGIN SELECT RAISE(ABORT, 'seamfit: fact_left is append-only'); END;
CREATE TRIGGER fact_left_no_replace BEFORE INSERT ON fact_left WHEN EXISTS (SELECT 1 FROM fact_left WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_left is append-only'); END;

CREATE TRIGGER fact_fate_no_update BEFORE UPDATE ON fact_fate BEGIN SELECT RAISE(ABORT, 'seamfit: fact_fate is append-only'); END;
CREATE TRIGGER fact_fate_no_delete BEFORE DELETE ON fact_fate BEGIN SELECT RAISE(ABORT, 'seamfit: fact_fate is append-only'); END;
CREATE TRIGGER fact_fate_no_replace BEFORE INSERT ON fact_fate WHEN EXISTS (SELECT 1 FROM fact_fate WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_fate is append-only'); END;

CREATE TRIGGER fact_incident_no_update BEFORE UPDATE ON fact_incident BEGIN SELECT RAISE(ABORT, 'seamfit: fact_incident is append-only'); END;
CREATE TRIGGER fact_incident_no_delete BEFORE DELETE ON fact_incident BEGIN SELECT RAISE(ABORT, 'seamfit: fact_incident is append-only'); END;
CREATE TRIGGER fact_incident_no_replace BEFORE INSERT ON fact_incident WHEN EXISTS (SELECT 1 FROM fact_incident WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_incident is append-only'); END;

CREATE TRIGGER fact_resolved_no_update BEFORE UPDATE ON fact_resolved BEGIN SELECT RAISE(ABORT, 'seamfit: fact_resolved is append-only'); END;
CREATE TRIGGER fact_resolved_no_delete BEFORE DELETE ON fact_resolved BEGIN SELECT RAISE(ABORT, 'seamfit: fact_resolved is append-only'); END;
CREATE TRIGGER fact_resolved_no_replace BEFORE INSERT ON fact_resolved WHEN EXISTS (SELECT 1 FROM fact_resolved WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_resolved is append-only'); END;

CREATE TRIGGER fact_completion_no_update BEFORE UPDATE ON fact_completion BEGIN SELECT RAISE(ABORT, 'seamfit: fact_completion is append-only'); END;
CREATE TRIGGER fact_completion_no_delete BEFORE DELETE ON fact_completion BEGIN SELECT RAISE(ABORT, 'seamfit: fact_completion is append-only'); END;
CREATE TRIGGER fact_completion_no_replace BEFORE INSERT ON fact_completion WHEN EXISTS (SELECT 1 FROM fact_completion WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_completion is append-only'); END;

-- Facts come one after another, and none after completion but corrections.
CREATE TRIGGER handling_in_shift BEFORE INSERT ON handling
WHEN NOT EXISTS (SELECT 1 FROM shift WHERE id = NEW.shift)
BEGIN SELECT RAISE(ABORT, 'seamfit: no such shift'); END;

CREATE TRIGGER fact_of_handling BEFORE INSERT ON fact
WHEN NOT EXISTS (SELECT 1 FROM handling WHERE id = NEW.handling)
BEGIN SELECT RAISE(ABORT, 'seamfit: no such handling'); END;

CREATE TRIGGER fact_in_order BEFORE INSERT ON fact
WHEN NEW.seq <> 1 + coalesce((SELECT max(seq) FROM fact WHERE handling = NEW.handling), 0)
BEGIN SELECT RAISE(ABORT, 'seamfit: facts of a handling come in order'); END;

CREATE TRIGGER fact_begins_with_bird BEFORE INSERT ON fact
WHEN NEW.seq = 1 AND NEW.kind <> 'bird'
BEGIN SELECT RAISE(ABORT, 'seamfit: a handling begins with its bird'); END;

CREATE TRIGGER fact_after_completion BEFORE INSERT ON fact
WHEN EXISTS (SELECT 1 FROM fact_completion WHERE handling = NEW.handling)
     AND NOT (NEW.kind IN ('bird', 'band', 'estimate') AND NEW.why <> '')
BEGIN SELECT RAISE(ABORT, 'seamfit: the record is complete; only corrections with a reason are taken'); END;

CREATE TRIGGER fact_bird_of_fact BEFORE INSERT ON fact_bird
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'bird')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a bird row needs its fact'); END;

CREATE TRIGGER fact_reading_of_fact BEFORE INSERT ON fact_reading
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'reading')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a reading row needs its fact'); END;

CREATE TRIGGER fact_set_aside_of_fact BEFORE INSERT ON fact_set_aside
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'set_aside')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a set_aside row needs its fact'); END;

CREATE TRIGGER fact_estimate_of_fact BEFORE INSERT ON fact_estimate
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'estimate')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a estimate row needs its fact'); END;

CREATE TRIGGER fact_size_of_fact BEFORE INSERT ON fact_size
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'size')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a size row needs its fact'); END;

CREATE TRIGGER fact_band_of_fact BEFORE INSERT ON fact_band
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'band')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a band row needs its fact'); END;

CREATE TRIGGER fact_closing_of_fact BEFORE INSERT ON fact_closing
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'closing')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a closing row needs its fact'); END;

CREATE TRIGGER fact_statement_of_fact BEFORE INSERT ON fact_statement
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'statement')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a statement row needs its fact'); END;

CREATE TRIGGER fact_read_back_of_fact BEFORE INSERT ON fact_read_back
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'read_back')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a read_back row needs its fact'); END;

CREATE TRIGGER fact_left_of_fact BEFORE INSERT ON fact_left
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'left')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a left row needs its fact'); END;

CREATE TRIGGER fact_fate_of_fact BEFORE INSERT ON fact_fate
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'fate')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a fate row needs its fact'); END;

CREATE TRIGGER fact_incident_of_fact BEFORE INSERT ON fact_incident
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'incident')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a incident row needs its fact'); END;

CREATE TRIGGER fact_resolved_of_fact BEFORE INSERT ON fact_resolved
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'resolved')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a resolved row needs its fact'); END;

CREATE TRIGGER fact_completion_of_fact BEFORE INSERT ON fact_completion
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'completion')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a completion row needs its fact'); END;

-- A band's events follow one another as they can with a real band.
CREATE TRIGGER band_events BEFORE INSERT ON fact_band
WHEN (NEW.event = 'planned' AND EXISTS (SELECT 1 FROM worked_band WHERE handling = NEW.handling))
  OR (NEW.event = 'found' AND NEW.done = 'worked' AND EXISTS (SELECT 1 FROM worked_band WHERE handling = NEW.handling))
  OR (NEW.event = 'returned' AND NOT EXISTS (SELECT 1 FROM band_now WHERE handling = NEW.handling AND band = NEW.band AND state = 'opened'))
  OR (NEW.event IN ('renumbered', 'removed') AND NOT EXISTS (SELECT 1 FROM band_now WHERE handling = NEW.handling AND band = NEW.band AND state IN ('opened', 'on bird')))
  OR (NEW.event = 'settled' AND NOT EXISTS (SELECT 1 FROM band_now WHERE handling = NEW.handling AND band = NEW.band AND state <> 'put back'))
  OR (NEW.event NOT IN ('renumbered', 'settled') AND EXISTS (SELECT 1 FROM fact_completion WHERE handling = NEW.handling))
BEGIN SELECT RAISE(ABORT, 'seamfit: that can not happen to this band now'); END;

-- One number, one bird: a second claim is taken only as a stated conflict,
-- and then both handlings are disputed.
CREATE TRIGGER band_number_once BEFORE INSERT ON fact_band
WHEN NEW.event IN ('planned', 'renumbered') AND NEW.conflict = '' AND EXISTS (
     SELECT 1 FROM fact_band o JOIN claim c ON c.handling = o.handling AND c.number = o.number
     WHERE o.number = NEW.number AND (o.handling <> NEW.handling OR c.state = 'destroyed'))
BEGIN SELECT RAISE(ABORT, 'seamfit: the number is in another record'); END;

CREATE TRIGGER closing_of_band BEFORE INSERT ON fact_closing
WHEN NOT EXISTS (SELECT 1 FROM worked_band WHERE handling = NEW.handling AND band = NEW.band)
BEGIN SELECT RAISE(ABORT, 'seamfit: a closing is of the band being worked on'); END;

CREATE TRIGGER statement_of_last_closing BEFORE INSERT ON fact_statement
WHEN NEW.closing IS NOT (SELECT seq FROM last_closing WHERE handling = NEW.handling)
  OR (SELECT findings FROM fact_closing WHERE handling = NEW.handling AND seq = NEW.closing) <> '[]'
BEGIN SELECT RAISE(ABORT, 'seamfit: statements are made of the last closing, when its look was flush'); END;

CREATE TRIGGER read_back_of_last_closing BEFORE INSERT ON fact_read_back
WHEN NEW.closing IS NOT (SELECT seq FROM last_closing WHERE handling = NEW.handling)
BEGIN SELECT RAISE(ABORT, 'seamfit: the number is read back off the last closing'); END;

-- The rule that all of this is for.
CREATE TRIGGER completion_refused BEFORE INSERT ON fact_completion
WHEN EXISTS (SELECT 1 FROM unconfirmed WHERE handling = NEW.handling)
BEGIN SELECT RAISE(ABORT, 'seamfit: the band on the leg lacks a confirmed flush last closing'); END;

CREATE TRIGGER completion_fate BEFORE INSERT ON fact_completion
WHEN coalesce((SELECT fate FROM fact_fate WHERE handling = NEW.handling ORDER BY seq DESC LIMIT 1), 'unconfirmed') = 'unconfirmed'
  OR ((SELECT fate FROM fact_fate WHERE handling = NEW.handling ORDER BY seq DESC LIMIT 1) = 'escaped'
      AND NOT EXISTS (SELECT 1 FROM fact_resolved WHERE handling = NEW.handling))
  OR ((SELECT fate FROM fact_fate WHERE handling = NEW.handling ORDER BY seq DESC LIMIT 1) = 'unbanded'
      AND EXISTS (SELECT 1 FROM worked_band WHERE handling = NEW.handling))
  OR ((SELECT fate FROM fact_fate WHERE handling = NEW.handling ORDER BY seq DESC LIMIT 1) = 'banded'
      AND NOT EXISTS (SELECT 1 FROM band_now WHERE handling = NEW.handling AND state = 'on bird'))
BEGIN SELECT RAISE(ABORT, 'seamfit: the fate does not allow completion'); END;

CREATE TRIGGER completion_disputed BEFORE INSERT ON fact_completion
WHEN EXISTS (SELECT 1 FROM disputed WHERE handling = NEW.handling)
BEGIN SELECT RAISE(ABORT, 'seamfit: the number is disputed'); END;

-- Keeping the list of open handlings.
CREATE TRIGGER handling_opens AFTER INSERT ON handling
BEGIN INSERT INTO open_handling (handling) VALUES (NEW.id); END;
CREATE TRIGGER completion_closes AFTER INSERT ON fact_completion
BEGIN DELETE FROM open_handling WHERE handling = NEW.handling; END;
CREATE TRIGGER resolution_closes AFTER INSERT ON fact_resolved
BEGIN DELETE FROM open_handling WHERE handling = NEW.handling; END;
CREATE TRIGGER open_handling_no_delete BEFORE DELETE ON open_handling
WHEN NOT EXISTS (SELECT 1 FROM fact_completion WHERE handling = OLD.handling)
     AND NOT EXISTS (SELECT 1 FROM fact_resolved WHERE handling = OLD.handling)
BEGIN SELECT RAISE(ABORT, 'seamfit: the handling is open'); END;
CREATE TRIGGER open_handling_no_update BEFORE UPDATE ON open_handling
BEGIN SELECT RAISE(ABORT, 'seamfit: the list of open handlings is kept by triggers'); END;

-- The records as tables for reading, exporting and the shell.

CREATE VIEW handlings AS
SELECT h.id AS handling, h.shift, s.place, s.permit, s.catalogue, s.training,
       f.by AS bander, f.at AS opened, f.at_offset AS opened_offset,
       (SELECT l.at FROM fact l WHERE l.handling = h.id AND l.kind = 'left' ORDER BY l.seq DESC LIMIT 1) AS left_hand,
       b.species, b.age, b.sex, b.leg, b.site,
       z.size, z.metal, z.closure, z.method, z.verdict, z.reason AS size_reason,
       (SELECT n.number FROM band_now n WHERE n.handling = h.id AND n.state IN ('on bird', 'opened') ORDER BY n.band DESC LIMIT 1) AS number,
       t.fate, t.reason AS fate_reason, t.decided_by,
       EXISTS (SELECT 1 FROM confirmed c WHERE c.handling = h.id) AS confirmed,
       EXISTS (SELECT 1 FROM fact_completion c WHERE c.handling = h.id) AND NOT EXISTS (SELECT 1 FROM disputed d WHERE d.handling = h.id) AS complete,
       EXISTS (SELECT 1 FROM disputed d WHERE d.handling = h.id) AS disputed,
       (SELECT r.reason FROM fact_resolved r WHERE r.handling = h.id ORDER BY r.seq DESC LIMIT 1) AS resolved
FROM handling h
JOIN shift s ON s.id = h.shift
JOIN fact f ON f.handling = h.id AND f.seq = 1
JOIN fact_bird b ON b.handling = h.id AND b.seq = (SELECT max(seq) FROM fact_bird WHERE handling = h.id)
LEFT JOIN fact_size z ON z.handling = h.id AND z.seq = (SELECT max(seq) FROM fact_size WHERE handling = h.id)
LEFT JOIN fact_fate t ON t.handling = h.id AND t.seq = (SELECT max(seq) FROM fact_fate WHERE handling = h.id);

CREATE VIEW readings AS
SELECT r.handling, r.seq, r.axis, r.means, r.value_nm, r.unit, r.unit_assumed, r.resolution_nm, r.raw, r.device, r.channel, r.feathers,
       coalesce((SELECT a.reason FROM fact_set_aside a WHERE a.handling = r.handling AND a.reading = r.seq ORDER BY a.seq LIMIT 1), '') AS set_aside,
       f.at, f.at_offset, f.entered, f.entered_offset, f.by, f.typed
FROM fact_reading r JOIN fact f USING (handling, seq);

CREATE VIEW leg_estimates AS
SELECT e.handling, e.seq, e.n, e.mean_mm, e.u_mm, e.dof, e.expanded_mm, e.coverage_factor, e.calibrated,
       e.range_mm, e.critical_range_mm, e.agrees, e.calibration, e.calibration_state, e.feathers, e.readings, e.detail, f.at, f.at_offset, f.by
FROM fact_estimate e JOIN fact f USING (handling, seq);

CREATE VIEW sizes AS
SELECT z.handling, z.seq, z.size, z.metal, z.closure, z.method, z.slot, z.estimate, z.verdict, z.play, z.p_tight, z.p_loose, z.reason,
       f.at, f.at_offset, f.by
FROM fact_size z JOIN fact f USING (handling, seq);

CREATE VIEW bands AS
SELECT n.handling, n.band, n.number, n.state, n.leg, n.site, n.found, n.done, n.condition, n.scheme, n.conflict, n.other,
       (SELECT r.reason FROM fact_band r WHERE r.handling = n.handling AND r.band = n.band ORDER BY r.seq DESC LIMIT 1) AS reason
FROM band_now n;

CREATE VIEW band_events AS
SELECT b.handling, b.seq, b.band, b.event, b.number, b.leg, b.site, b.conflict, b.other, b.condition, b.scheme, b.closure, b.done, b.reason,
       b.stock_size, b.stock_metal, b.skipped, f.at, f.at_offset, f.by, f.replaces, f.why
FROM fact_band b JOIN fact f USING (handling, seq);

CREATE VIEW closings AS
SELECT c.handling, c.seq, c.band, c.findings, f.at, f.at_offset, f.by
FROM fact_closing c JOIN fact f USING (handling, seq);

CREATE VIEW confirmations AS
SELECT m.handling, m.seq, m.closing, m.statement, '' AS read_back, f.at, f.at_offset, f.by
FROM fact_statement m JOIN fact f USING (handling, seq)
UNION ALL
SELECT r.handling, r.seq, r.closing, '', r.digits, f.at, f.at_offset, f.by
FROM fact_read_back r JOIN fact f USING (handling, seq);

CREATE VIEW fates AS
SELECT t.handling, t.seq, t.fate, t.reason, t.decided_by, f.at, f.at_offset, f.by
FROM fact_fate t JOIN fact f USING (handling, seq);

CREATE VIEW incidents AS
SELECT i.handling, i.seq, i.kind, i.note, f.at, f.at_offset, f.by
FROM fact_incident i JOIN fact f USING (handling, seq);

-- Calibration: rods, calibrations of calipers with their readings, and checks.
-- A check that answers another states only why the bench goes on after it.

CREATE TABLE rod (
  id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
  name       TEXT NOT NULL CHECK (name <> ''),
  diameter_nm INTEGER NOT NULL CHECK (diameter_nm > 0),
  u_nm       INTEGER NOT NULL CHECK (u_nm >= 0),
  class      TEXT NOT NULL,
  certified  TEXT NOT NULL,
  due        TEXT NOT NULL,
  material   TEXT NOT NULL,
  expansion  REAL NOT NULL,
  retired    TEXT NOT NULL,
  entered    TEXT NOT NULL, entered_offset TEXT NOT NULL,
  by         TEXT NOT NULL,
  digest     TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE calibration (
  id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
  caliper    TEXT NOT NULL CHECK (caliper <> ''),
  at         TEXT NOT NULL, at_offset TEXT NOT NULL,
  valid_until TEXT NOT NULL, valid_until_offset TEXT NOT NULL,
  by         TEXT NOT NULL,
  note       TEXT NOT NULL,
  conditions TEXT NOT NULL CHECK (json_valid(conditions)),
  readings   TEXT NOT NULL CHECK (json_valid(readings)),
  result     TEXT NOT NULL CHECK (json_valid(result)),
  digest     TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE rod_check (
  id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
  caliper    TEXT NOT NULL CHECK (caliper <> ''),
  at         TEXT NOT NULL, at_offset TEXT NOT NULL,
  by         TEXT NOT NULL,
  rod        TEXT NOT NULL,
  n          INTEGER NOT NULL CHECK (n >= 1),
  mean_nm    INTEGER NOT NULL,
  error_nm   INTEGER NOT NULL,
  low_nm     INTEGER NOT NULL,
  high_nm    INTEGER NOT NULL,
  in_limits  INTEGER NOT NULL CHECK (in_limits IN (0, 1)),
  reason     TEXT NOT NULL,
  answers    TEXT NOT NULL CHECK (answers = '' OR reason <> ''),
  calibration TEXT NOT NULL,
  readings   TEXT NOT NULL CHECK (json_valid(readings)),
  digest     TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX rod_name ON rod (name, id);
CREATE INDEX calibration_caliper ON calibration (caliper, at);
CREATE INDEX rod_check_caliper ON rod_check (caliper, rod, at);

CREATE TRIGGER rod_no_update BEFORE UPDATE ON rod BEGIN SELECT RAISE(ABORT, 'seamfit: rod is append-only'); END;
CREATE TRIGGER rod_no_delete BEFORE DELETE ON rod BEGIN SELECT RAISE(ABORT, 'seamfit: rod is append-only'); END;
CREATE TRIGGER rod_no_replace BEFORE INSERT ON rod WHEN EXISTS (SELECT 1 FROM rod WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'seamfit: rod is append-only'); END;
CREATE TRIGGER calibration_no_update BEFORE UPDATE ON calibration BEGIN SELECT RAISE(ABORT, 'seamfit: calibration is append-only'); END;
CREATE TRIGGER calibration_no_delete BEFORE DELETE ON calibration BEGIN SELECT RAISE(ABORT, 'seamfit: calibration is append-only'); END;
CREATE TRIGGER calibration_no_replace BEFORE INSERT ON calibration WHEN EXISTS (SELECT 1 FROM calibration WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'seamfit: calibration is append-only'); END;
CREATE TRIGGER rod_check_no_update BEFORE UPDATE ON rod_check BEGIN SELECT RAISE(ABORT, 'seamfit: rod_check is append-only'); END;
CREATE TRIGGER rod_check_no_delete BEFORE DELETE ON rod_check BEGIN SELECT RAISE(ABORT, 'seamfit: rod_check is append-only'); END;
CREATE TRIGGER rod_check_no_replace BEFORE INSERT ON rod_check WHEN EXISTS (SELECT 1 FROM rod_check WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'seamfit: rod_check is append-only'); END;

-- Settling: two or more records told anew in one transaction. The row comes
-- last, and is refused while one of the records is disputed.

CREATE TABLE settlement (
  id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
  at         TEXT NOT NULL, at_offset TEXT NOT NULL,
  by         TEXT NOT NULL,
  handlings  TEXT NOT NULL CHECK (json_valid(handlings) AND json_array_length(handlings) >= 1),
  reason     TEXT NOT NULL CHECK (reason <> ''),
  digest     TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TRIGGER settlement_no_update BEFORE UPDATE ON settlement BEGIN SELECT RAISE(ABORT, 'seamfit: settlement is append-only'); END;
CREATE TRIGGER settlement_no_delete BEFORE DELETE ON settlement BEGIN SELECT RAISE(ABORT, 'seamfit: settlement is append-only'); END;
CREATE TRIGGER settlement_no_replace BEFORE INSERT ON settlement WHEN EXISTS (SELECT 1 FROM settlement WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'seamfit: settlement is append-only'); END;
CREATE TRIGGER settlement_settles BEFORE INSERT ON settlement
WHEN EXISTS (SELECT 1 FROM json_each(NEW.handlings) h WHERE EXISTS (SELECT 1 FROM disputed d WHERE d.handling = h.value))
BEGIN SELECT RAISE(ABORT, 'seamfit: a record would still be disputed'); END;

-- The end of a shift.

CREATE TABLE shift_close (
  shift      TEXT NOT NULL PRIMARY KEY REFERENCES shift (id),
  at         TEXT NOT NULL, at_offset TEXT NOT NULL,
  by         TEXT NOT NULL,
  note       TEXT NOT NULL,
  digest     TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TRIGGER shift_close_no_update BEFORE UPDATE ON shift_close BEGIN SELECT RAISE(ABORT, 'seamfit: shift_close is append-only'); END;
CREATE TRIGGER shift_close_no_delete BEFORE DELETE ON shift_close BEGIN SELECT RAISE(ABORT, 'seamfit: shift_close is append-only'); END;
CREATE TRIGGER shift_close_no_replace BEFORE INSERT ON shift_close WHEN EXISTS (SELECT 1 FROM shift_close WHERE shift = NEW.shift)
BEGIN SELECT RAISE(ABORT, 'seamfit: shift_close is append-only'); END;
CREATE TRIGGER shift_close_of_told_birds BEFORE INSERT ON shift_close
WHEN EXISTS (SELECT 1 FROM open_handling o JOIN handling h ON h.id = o.handling
             WHERE h.shift = NEW.shift AND NOT EXISTS (SELECT 1 FROM fact_fate t WHERE t.handling = o.handling))
BEGIN SELECT RAISE(ABORT, 'seamfit: a bird of this shift has no fate yet'); END;

-- The stock: strings as received, their numbers, and what happened to them.
-- A number is in stock until a mark says otherwise; what the handlings claim
-- comes on top of that.

CREATE TABLE band_string (
  id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
  first      TEXT NOT NULL CHECK (first <> ''),
  last       TEXT NOT NULL CHECK (last <> ''),
  received   INTEGER NOT NULL CHECK (received >= 1),
  size       TEXT NOT NULL CHECK (size <> ''),
  metal      TEXT NOT NULL CHECK (metal <> ''),
  missing    TEXT NOT NULL CHECK (json_valid(missing)),
  note       TEXT NOT NULL,
  at         TEXT NOT NULL, at_offset TEXT NOT NULL,
  entered    TEXT NOT NULL, entered_offset TEXT NOT NULL,
  by         TEXT NOT NULL,
  numbers    TEXT NOT NULL CHECK (length(numbers) = 64),
  digest     TEXT NOT NULL CHECK (length(digest) = 64)
) STRICT, WITHOUT ROWID;

CREATE TABLE stock_number (
  number     TEXT NOT NULL PRIMARY KEY CHECK (number <> '' AND number NOT GLOB '*[^0-9A-Za-z./: -]*'),
  string     TEXT NOT NULL REFERENCES band_string (id),
  place      INTEGER NOT NULL CHECK (place >= 1)
) STRICT, WITHOUT ROWID;

CREATE TABLE stock_event (
  string     TEXT NOT NULL REFERENCES band_string (id),
  seq        INTEGER NOT NULL CHECK (seq >= 1),
  kind       TEXT NOT NULL CHECK (kind IN ('rejected', 'opened', 'passed', 'lost', 'found', 'returned', 'destroyed', 'measured', 'counted')),
  at         TEXT NOT NULL, at_offset TEXT NOT NULL,
  entered    TEXT NOT NULL, entered_offset TEXT NOT NULL,
  by         TEXT NOT NULL,
  holder     TEXT NOT NULL,
  reason     TEXT NOT NULL,
  measures   TEXT NOT NULL CHECK (json_valid(measures)),
  numbers    TEXT NOT NULL CHECK (length(numbers) = 64),
  digest     TEXT NOT NULL CHECK (length(digest) = 64),
  PRIMARY KEY (string, seq),
  CHECK (kind NOT IN ('rejected', 'lost', 'destroyed') OR reason <> '')
) STRICT, WITHOUT ROWID;

-- state is where the event leaves the number; empty where it says nothing of it.
CREATE TABLE stock_mark (
  string     TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  number     TEXT NOT NULL REFERENCES stock_number (number),
  state      TEXT NOT NULL CHECK (state IN ('', 'in stock', 'opened', 'destroyed', 'lost', 'rejected', 'returned')),
  PRIMARY KEY (string, seq, number),
  FOREIGN KEY (string, seq) REFERENCES stock_event (string, seq)
) STRICT, WITHOUT ROWID;

CREATE INDEX stock_number_string ON stock_number (string, place);
CREATE INDEX stock_mark_number ON stock_mark (number, seq);
CREATE INDEX fact_band_skipped ON fact_band (skipped, number) WHERE skipped <> '';

-- stock_told: each number as the stock alone has it.
CREATE VIEW stock_told AS
SELECT n.number, n.string, n.place, s.size, s.metal,
       coalesce((SELECT m.state FROM stock_mark m WHERE m.number = n.number AND m.state <> '' ORDER BY m.seq DESC LIMIT 1), 'in stock') AS told,
       coalesce((SELECT e.holder FROM stock_mark m JOIN stock_event e ON e.string = m.string AND e.seq = m.seq
                 WHERE m.number = n.number AND e.kind IN ('opened', 'passed') ORDER BY m.seq DESC LIMIT 1), '') AS holder
FROM stock_number n JOIN band_string s ON s.id = n.string;

-- number_bands: the bands of handlings by the number that they have now.
CREATE VIEW number_bands AS
SELECT o.number, b.handling, b.band, b.found, b.state FROM fact_band o
CROSS JOIN band_now b ON b.handling = o.handling AND b.band = o.band AND b.number = o.number; -- in this order

-- stock_now: each number in exactly one state. A band that was taken off is
-- destroyed, whoever put it on; one on a bird is there, whatever the stock says.
CREATE VIEW stock_now AS
SELECT t.number, t.string, t.place, t.size, t.metal, t.told, t.holder,
       CASE (SELECT min(CASE WHEN b.state = 'destroyed' AND b.found THEN 0 WHEN b.state = 'on bird' THEN 1
                             WHEN b.state = 'destroyed' THEN 2 WHEN b.state = 'opened' THEN 3 END) FROM number_bands b WHERE b.number = t.number)
         WHEN 0 THEN 'destroyed'
         WHEN 1 THEN 'on bird'
         WHEN 2 THEN 'destroyed'
         WHEN 3 THEN CASE t.told WHEN 'in stock' THEN 'opened' ELSE t.told END
         ELSE t.told
       END AS state,
       EXISTS (SELECT 1 FROM number_bands b WHERE b.number = t.number AND NOT b.found AND b.state <> 'put back') AS claimed
FROM stock_told t;

-- on_tubing: what is opened and neither taken nor told as skipped. Triggers
-- keep the table tubing like it, so that the next number is found at once.
CREATE VIEW on_tubing AS
SELECT t.holder, t.size, t.metal, t.string, t.place, t.number FROM stock_told t
WHERE t.told = 'opened'
  AND NOT EXISTS (SELECT 1 FROM number_bands b WHERE b.number = t.number AND b.state <> 'put back')
  AND NOT EXISTS (SELECT 1 FROM fact_band k WHERE k.skipped = t.number AND k.skipped <> '');

CREATE TABLE tubing (
  number     TEXT NOT NULL PRIMARY KEY,
  holder     TEXT NOT NULL,
  size       TEXT NOT NULL,
  metal      TEXT NOT NULL,
  string     TEXT NOT NULL,
  place      INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX tubing_next ON tubing (holder COLLATE NOCASE, size, metal, string, place);

CREATE TRIGGER tubing_no_update BEFORE UPDATE ON tubing BEGIN SELECT RAISE(ABORT, 'seamfit: the tubing is kept by triggers'); END;
CREATE TRIGGER tubing_no_delete BEFORE DELETE ON tubing
WHEN EXISTS (SELECT 1 FROM on_tubing o WHERE o.number = OLD.number AND o.holder = OLD.holder)
BEGIN SELECT RAISE(ABORT, 'seamfit: the number is on the tubing'); END;
CREATE TRIGGER tubing_no_replace BEFORE INSERT ON tubing
WHEN EXISTS (SELECT 1 FROM tubing WHERE number = NEW.number)
  OR NOT EXISTS (SELECT 1 FROM on_tubing o WHERE o.number = NEW.number AND o.holder = NEW.holder AND o.size = NEW.size
                 AND o.metal = NEW.metal AND o.string = NEW.string AND o.place = NEW.place)
BEGIN SELECT RAISE(ABORT, 'seamfit: the tubing is kept by triggers'); END;

CREATE TRIGGER tubing_of_band AFTER INSERT ON fact_band
BEGIN
  DELETE FROM tubing WHERE number IN (SELECT b.number FROM fact_band b WHERE b.handling = NEW.handling AND b.band = NEW.band UNION SELECT NEW.skipped)
    AND NOT EXISTS (SELECT 1 FROM on_tubing o WHERE o.number = tubing.number);
  INSERT INTO tubing (number, holder, size, metal, string, place)
    SELECT o.number, o.holder, o.size, o.metal, o.string, o.place FROM on_tubing o
    WHERE o.number IN (SELECT b.number FROM fact_band b WHERE b.handling = NEW.handling AND b.band = NEW.band)
      AND NOT EXISTS (SELECT 1 FROM tubing x WHERE x.number = o.number);
END;
CREATE TRIGGER tubing_of_mark AFTER INSERT ON stock_mark WHEN NEW.state <> ''
BEGIN
  DELETE FROM tubing WHERE number = NEW.number AND NOT EXISTS (
    SELECT 1 FROM on_tubing o WHERE o.number = NEW.number AND o.holder = tubing.holder);
  INSERT INTO tubing (number, holder, size, metal, string, place)
    SELECT o.number, o.holder, o.size, o.metal, o.string, o.place FROM on_tubing o
    WHERE o.number = NEW.number AND NOT EXISTS (SELECT 1 FROM tubing x WHERE x.number = o.number);
END;

-- A number that the stock has as gone is not taken as if it were there.
CREATE TRIGGER band_number_gone BEFORE INSERT ON fact_band
WHEN NEW.event IN ('planned', 'renumbered') AND NEW.conflict = ''
 AND (SELECT m.state FROM stock_mark m WHERE m.number = NEW.number AND m.state <> '' ORDER BY m.seq DESC LIMIT 1)
     IN ('destroyed', 'lost', 'rejected', 'returned')
BEGIN SELECT RAISE(ABORT, 'seamfit: the number is gone from the stock'); END;

CREATE TRIGGER band_string_no_update BEFORE UPDATE ON band_string BEGIN SELECT RAISE(ABORT, 'seamfit: band_string is append-only'); END;
CREATE TRIGGER band_string_no_delete BEFORE DELETE ON band_string BEGIN SELECT RAISE(ABORT, 'seamfit: band_string is append-only'); END;
CREATE TRIGGER band_string_no_replace BEFORE INSERT ON band_string WHEN EXISTS (SELECT 1 FROM band_string WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'seamfit: band_string is append-only'); END;

CREATE TRIGGER stock_number_no_update BEFORE UPDATE ON stock_number BEGIN SELECT RAISE(ABORT, 'seamfit: stock_number is append-only'); END;
CREATE TRIGGER stock_number_no_delete BEFORE DELETE ON stock_number BEGIN SELECT RAISE(ABORT, 'seamfit: stock_number is append-only'); END;
CREATE TRIGGER stock_number_no_replace BEFORE INSERT ON stock_number WHEN EXISTS (SELECT 1 FROM stock_number WHERE number = NEW.number)
BEGIN SELECT RAISE(ABORT, 'seamfit: the number is in the stock already'); END;
CREATE TRIGGER stock_number_of_string BEFORE INSERT ON stock_number
WHEN NOT EXISTS (SELECT 1 FROM band_string WHERE id = NEW.string) OR EXISTS (SELECT 1 FROM stock_event WHERE string = NEW.string)
BEGIN SELECT RAISE(ABORT, 'seamfit: a number comes with its string'); END;

CREATE TRIGGER stock_event_no_update BEFORE UPDATE ON stock_event BEGIN SELECT RAISE(ABORT, 'seamfit: stock_event is append-only'); END;
CREATE TRIGGER stock_event_no_delete BEFORE DELETE ON stock_event BEGIN SELECT RAISE(ABORT, 'seamfit: stock_event is append-only'); END;
CREATE TRIGGER stock_event_no_replace BEFORE INSERT ON stock_event WHEN EXISTS (SELECT 1 FROM stock_event WHERE string = NEW.string AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: stock_event is append-only'); END;
CREATE TRIGGER stock_event_in_order BEFORE INSERT ON stock_event
WHEN NOT EXISTS (SELECT 1 FROM band_string WHERE id = NEW.string)
  OR NEW.seq <> 1 + coalesce((SELECT max(seq) FROM stock_event WHERE string = NEW.string), 0)
BEGIN SELECT RAISE(ABORT, 'seamfit: an event of the stock follows the last one of its string'); END;

CREATE TRIGGER stock_mark_no_update BEFORE UPDATE ON stock_mark BEGIN SELECT RAISE(ABORT, 'seamfit: stock_mark is append-only'); END;
CREATE TRIGGER stock_mark_no_delete BEFORE DELETE ON stock_mark BEGIN SELECT RAISE(ABORT, 'seamfit: stock_mark is append-only'); END;
CREATE TRIGGER stock_mark_no_replace BEFORE INSERT ON stock_mark WHEN EXISTS (SELECT 1 FROM stock_mark WHERE string = NEW.string AND seq = NEW.seq AND number = NEW.number)
BEGIN SELECT RAISE(ABORT, 'seamfit: stock_mark is append-only'); END;
CREATE TRIGGER stock_mark_of_event BEFORE INSERT ON stock_mark
WHEN NEW.seq IS NOT (SELECT max(seq) FROM stock_event WHERE string = NEW.string)
  OR NOT EXISTS (SELECT 1 FROM stock_number WHERE number = NEW.number AND string = NEW.string)
BEGIN SELECT RAISE(ABORT, 'seamfit: a mark is of the last event of its string and one of its numbers'); END;

-- The stock as tables for reading, exporting and the shell.

CREATE VIEW strings AS
SELECT s.id AS string, s.first, s.last, s.received, s.size, s.metal, s.missing, s.note, s.at, s.at_offset, s.by FROM band_string s;

CREATE VIEW numbers AS
SELECT n.string, n.place, n.number, n.size, n.metal, n.state, n.holder FROM stock_now n;

CREATE VIEW stock_events AS
SELECT e.string, e.seq, m.number, e.kind, m.state, e.holder, e.reason, e.at, e.at_offset, e.by
FROM stock_event e JOIN stock_mark m ON m.string = e.string AND m.seq = e.seq;

CREATE VIEW settlements AS
SELECT id AS settlement, at, at_offset, by, handlings, reason FROM settlement;

-- Submissions: which birds' rows were handed to an office, through which map,
-- and what they said, so that later corrections can be told.

CREATE TABLE submission (
  id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
  map        TEXT NOT NULL CHECK (map <> ''),
  place      INTEGER NOT NULL CHECK (place >= 1),
  columns    TEXT NOT NULL CHECK (json_valid(columns) AND json_type(columns) = 'array'),
  at         TEXT NOT NULL, at_offset TEXT NOT NULL,
  by         TEXT NOT NULL CHECK (by <> ''),
  birds      TEXT NOT NULL CHECK (length(birds) = 64),
  digest     TEXT NOT NULL CHECK (length(digest) = 64),
  UNIQUE (map, place)
) STRICT, WITHOUT ROWID;

-- fields is the row as it was handed in; of a withdrawn one, as it was before.
CREATE TABLE submission_bird (
  submission TEXT NOT NULL REFERENCES submission (id),
  handling   TEXT NOT NULL REFERENCES handling (id),
  change     TEXT NOT NULL CHECK (change IN ('new', 'corrected', 'withdrawn')),
  fields     TEXT NOT NULL CHECK (json_valid(fields) AND json_type(fields) = 'array'),
  PRIMARY KEY (submission, handling)
) STRICT, WITHOUT ROWID;

CREATE INDEX submission_bird_handling ON submission_bird (handling);

CREATE TRIGGER submission_no_update BEFORE UPDATE ON submission BEGIN SELECT RAISE(ABORT, 'seamfit: submission is append-only'); END;
CREATE TRIGGER submission_no_delete BEFORE DELETE ON submission BEGIN SELECT RAISE(ABORT, 'seamfit: submission is append-only'); END;
CREATE TRIGGER submission_no_replace BEFORE INSERT ON submission WHEN EXISTS (SELECT 1 FROM submission WHERE id = NEW.id OR (map = NEW.map AND place = NEW.place))
BEGIN SELECT RAISE(ABORT, 'seamfit: submission is append-only'); END;
CREATE TRIGGER submission_in_order BEFORE INSERT ON submission
WHEN NEW.place <> 1 + coalesce((SELECT max(place) FROM submission WHERE map = NEW.map), 0)
BEGIN SELECT RAISE(ABORT, 'seamfit: a submission follows the last one of its map'); END;
CREATE TRIGGER submission_not_of_training BEFORE INSERT ON submission
WHEN (SELECT value FROM meta WHERE key = 'kind') = 'training'
BEGIN SELECT RAISE(ABORT, 'seamfit: training records are never submitted'); END;

CREATE TRIGGER submission_bird_no_update BEFORE UPDATE ON submission_bird BEGIN SELECT RAISE(ABORT, 'seamfit: submission_bird is append-only'); END;
CREATE TRIGGER submission_bird_no_delete BEFORE DELETE ON submission_bird BEGIN SELECT RAISE(ABORT, 'seamfit: submission_bird is append-only'); END;
CREATE TRIGGER submission_bird_no_replace BEFORE INSERT ON submission_bird WHEN EXISTS (SELECT 1 FROM submission_bird WHERE submission = NEW.submission AND handling = NEW.handling)
BEGIN SELECT RAISE(ABORT, 'seamfit: submission_bird is append-only'); END;
CREATE TRIGGER submission_bird_of_last BEFORE INSERT ON submission_bird
WHEN NOT EXISTS (SELECT 1 FROM submission s WHERE s.id = NEW.submission
                 AND s.place = (SELECT max(l.place) FROM submission l WHERE l.map = s.map))
  OR NOT EXISTS (SELECT 1 FROM handling WHERE id = NEW.handling)
BEGIN SELECT RAISE(ABORT, 'seamfit: a row is of the last submission of its map and of a bird'); END;

-- Practice closings on dowels: never a bird's band.

CREATE TABLE practice (
  id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
  at         TEXT NOT NULL, at_offset TEXT NOT NULL,
  by         TEXT NOT NULL CHECK (by <> ''),
  trainer    TEXT NOT NULL,
  size       TEXT NOT NULL CHECK (size <> ''),
  metal      TEXT NOT NULL CHECK (metal <> ''),
  closure    TEXT NOT NULL CHECK (closure <> ''),
  dowel      TEXT NOT NULL CHECK (dowel IN ('round', 'oval', 'sleeved')),
  dowel_nm   INTEGER NOT NULL CHECK (dowel_nm >= 0),
  band       TEXT NOT NULL CHECK (band IN ('unnumbered', 'rejected', 'numbered')),
  number     TEXT NOT NULL CHECK ((number <> '') = (band = 'numbered') AND number NOT GLOB '*[^0-9A-Za-z./: -]*'),
  tool       TEXT NOT NULL,
  findings   TEXT NOT NULL CHECK (json_valid(findings) AND json_type(findings) = 'array'),
  blind      TEXT NOT NULL CHECK (json_valid(blind) AND json_type(blind) IN ('array', 'null')),
  measured   TEXT NOT NULL CHECK (json_valid(measured) AND json_type(measured) IN ('object', 'null')),
  took_ms    INTEGER NOT NULL CHECK (took_ms >= 0),
  digest     TEXT NOT NULL CHECK (length(digest) = 64),
  CHECK (json_type(blind) = 'null' OR trainer NOT IN ('', by))
) STRICT, WITHOUT ROWID;

CREATE TRIGGER practice_no_update BEFORE UPDATE ON practice BEGIN SELECT RAISE(ABORT, 'seamfit: practice is append-only'); END;
CREATE TRIGGER practice_no_delete BEFORE DELETE ON practice BEGIN SELECT RAISE(ABORT, 'seamfit: practice is append-only'); END;
CREATE TRIGGER practice_no_replace BEFORE INSERT ON practice WHEN EXISTS (SELECT 1 FROM practice WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'seamfit: practice is append-only'); END;
-- A number that is on a bird, or that another closing has used up, was not
-- closed on a dowel.
CREATE TRIGGER practice_number_free BEFORE INSERT ON practice
WHEN NEW.number <> '' AND (EXISTS (SELECT 1 FROM claim c WHERE c.number = NEW.number)
  OR EXISTS (SELECT 1 FROM practice p WHERE p.number = NEW.number))
BEGIN SELECT RAISE(ABORT, 'seamfit: the number is on a bird, or destroyed already'); END;
