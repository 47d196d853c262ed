-- Supervised closings, further measures, circumstances, facts of a shift; and
-- joining the records of two benches.
--
-- This runs with foreign keys off and legacy_alter_table on, so that a table
-- can be built anew under its name without the others' texts being changed.

CREATE TABLE fact_anew (
  handling   TEXT NOT NULL REFERENCES handling (id),
  seq        INTEGER NOT NULL CHECK (seq >= 1),
  kind       TEXT NOT NULL CHECK (kind IN ('bird', 'reading', 'set_aside', 'estimate', 'size', 'band',
                 'closing', 'statement', 'read_back', 'left', 'fate', 'incident', 'resolved', 'completion',
                 'supervised', 'measure', 'circumstances')),
  at         TEXT NOT NULL, at_offset TEXT NOT NULL,
  entered    TEXT NOT NULL, entered_offset TEXT NOT NULL,
  by         TEXT NOT NULL,
  typed      TEXT NOT NULL,
  replaces   INTEGER NOT NULL DEFAULT 0,
  why        TEXT NOT NULL DEFAULT '',
  digest     TEXT NOT NULL CHECK (length(digest) = 64),
  PRIMARY KEY (handling, seq)
) STRICT, WITHOUT ROWID;

INSERT INTO fact_anew SELECT handling, seq, kind, at, at_offset, entered, entered_offset, by, typed, replaces, why, digest FROM fact;
DROP TABLE fact;
ALTER TABLE fact_anew RENAME TO fact;

CREATE TRIGGER fact_no_update BEFORE UPDATE ON fact BEGIN SELECT RAISE(ABORT, 'seamfit: fact is append-only'); END;
CREATE TRIGGER fact_no_delete BEFORE DELETE ON fact BEGIN SELECT RAISE(ABORT, 'seamfit: fact is append-only'); END;
CREATE TRIGGER fact_no_replace BEFORE INSERT ON fact WHEN EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact is append-only'); END;

CREATE TRIGGER fact_of_handling BEFORE INSERT ON fact
WHEN NOT EXISTS (SELECT 1 FROM handling WHERE id = NEW.handling)
BEGIN SELECT RAISE(ABORT, 'seamfit: no such handling'); END;

CREATE TRIGGER fact_in_order BEFORE INSERT ON fact
WHEN NEW.seq <> 1 + coalesce((SELECT max(seq) FROM fact WHERE handling = NEW.handling), 0)
BEGIN SELECT RAISE(ABORT, 'seamfit: facts of a handling come in order'); END;

CREATE TRIGGER fact_begins_with_bird BEFORE INSERT ON fact
WHEN NEW.seq = 1 AND NEW.kind <> 'bird'
BEGIN SELECT RAISE(ABORT, 'seamfit: a handling begins with its bird'); END;

-- What was measured, and where the bird came from and went, may be corrected
-- in a complete record; a supervisor's look is too late there.
CREATE TRIGGER fact_after_completion BEFORE INSERT ON fact
WHEN EXISTS (SELECT 1 FROM fact_completion WHERE handling = NEW.handling)
     AND NOT (NEW.kind IN ('bird', 'band', 'estimate', 'measure', 'circumstances') AND NEW.why <> '')
BEGIN SELECT RAISE(ABORT, 'seamfit: the record is complete; only corrections with a reason are taken'); END;

-- What is measured beside a leg's two widths: the stops above and below the
-- band, the tarsus that bands can use, and the marks that are on it.
CREATE TABLE fact_reading_anew (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  axis       TEXT NOT NULL CHECK (axis IN ('greatest', 'cross', 'upper stop', 'lower stop', 'usable tarsus', 'other marks', 'wall')),
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

INSERT INTO fact_reading_anew SELECT handling, seq, axis, means, raw, value_nm, unit, unit_assumed, resolution_nm, device, channel, feathers FROM fact_reading;
DROP TABLE fact_reading;
ALTER TABLE fact_reading_anew RENAME TO fact_reading;

-- The few walls of worn bands among a million widths.
CREATE INDEX fact_reading_wall ON fact_reading (handling) WHERE axis = 'wall';

CREATE TRIGGER fact_reading_no_update BEFORE UPDATE ON fact_reading BEGIN SELECT RAISE(ABORT, 'seamfit: fact_reading is append-only'); END;
CREATE TRIGGER fact_reading_no_delete BEFORE DELETE ON fact_reading BEGIN SELECT RAISE(ABORT, 'seamfit: fact_reading is append-only'); END;
CREATE TRIGGER fact_reading_no_replace BEFORE INSERT ON fact_reading WHEN EXISTS (SELECT 1 FROM fact_reading WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_reading is append-only'); END;
CREATE TRIGGER fact_reading_of_fact BEFORE INSERT ON fact_reading
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'reading')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a reading row needs its fact'); END;

-- A supervisor looked at a closing that was looked at as flush. What they found
-- is found of that closing, which then is not flush any more.
CREATE TABLE fact_supervised (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  closing    INTEGER NOT NULL,
  findings   TEXT NOT NULL CHECK (json_valid(findings) AND json_type(findings) = 'array'),
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq)
) STRICT, WITHOUT ROWID;

-- A further measure, of a name and unit that the settings give. The value is
-- the plain decimal that was read; resolution is empty where it isn't known.
CREATE TABLE fact_measure (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  name       TEXT NOT NULL CHECK (name <> ''),
  means      TEXT NOT NULL CHECK (means IN ('caliper', 'typed')),
  raw        BLOB NOT NULL,
  value      TEXT NOT NULL CHECK ((value GLOB '[0-9]*' OR value GLOB '-[0-9]*') AND substr(value, 2) NOT GLOB '*[^0-9.]*'
                                  AND value NOT GLOB '*.*.*' AND value NOT GLOB '*.'),
  unit       TEXT NOT NULL CHECK (unit <> ''),
  resolution TEXT NOT NULL CHECK (resolution = '' OR (resolution GLOB '[0-9]*' AND resolution NOT GLOB '*[^0-9.]*'
                                  AND resolution NOT GLOB '*.*.*' AND resolution NOT GLOB '*.')),
  device     TEXT NOT NULL,
  channel    TEXT NOT NULL,
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq)
) STRICT, WITHOUT ROWID;

-- When and where the bird was caught, and where it was put back; the last one
-- stands, whole.
CREATE TABLE fact_circumstances (
  handling   TEXT NOT NULL,
  seq        INTEGER NOT NULL,
  nest       TEXT NOT NULL, -- nest, burrow or box
  brood      TEXT NOT NULL,
  captured   TEXT NOT NULL, captured_offset TEXT NOT NULL,
  returned_to TEXT NOT NULL,
  PRIMARY KEY (handling, seq),
  FOREIGN KEY (handling, seq) REFERENCES fact (handling, seq),
  CHECK ((captured = '') = (captured_offset = ''))
) STRICT, WITHOUT ROWID;

-- What a shift's own row has no room for: the place as a point, who does what,
-- the clock against a watch, the instruments. Each carries a digest over its
-- content and that of the fact before it (of the first, the shift's own).
CREATE TABLE shift_fact (
  shift      TEXT NOT NULL REFERENCES shift (id),
  seq        INTEGER NOT NULL CHECK (seq >= 1),
  kind       TEXT NOT NULL CHECK (kind IN ('place', 'person', 'watch', 'instrument')),
  at         TEXT NOT NULL, at_offset TEXT NOT NULL,
  by         TEXT NOT NULL,
  content    TEXT NOT NULL CHECK (json_valid(content) AND json_type(content) = 'object'),
  digest     TEXT NOT NULL CHECK (length(digest) = 64),
  PRIMARY KEY (shift, seq),
  CHECK (kind <> 'place' OR (
     json_type(content, '$.latitude') IS 'text' AND CAST(content ->> '$.latitude' AS REAL) BETWEEN -90 AND 90
     AND content ->> '$.latitude' GLOB '*[0-9]' AND ltrim(content ->> '$.latitude', '-') NOT GLOB '*[^0-9.]*'
     AND json_type(content, '$.longitude') IS 'text' AND CAST(content ->> '$.longitude' AS REAL) BETWEEN -180 AND 180
     AND content ->> '$.longitude' GLOB '*[0-9]' AND ltrim(content ->> '$.longitude', '-') NOT GLOB '*[^0-9.]*')),
  CHECK (kind <> 'person' OR (json_type(content, '$.name') IS 'text' AND content ->> '$.name' <> ''
     AND coalesce(content ->> '$.role', '') IN ('bander', 'scribe', 'trainee', 'supervisor', 'permit holder'))),
  CHECK (kind <> 'watch' OR (json_type(content, '$.watch') IS 'text' AND json_type(content, '$.clock') IS 'text')),
  CHECK (kind <> 'instrument' OR (json_type(content, '$.kind') IS 'text' AND json_type(content, '$.name') IS 'text' AND content ->> '$.name' <> ''))
) STRICT, WITHOUT ROWID;

CREATE TRIGGER fact_supervised_no_update BEFORE UPDATE ON fact_supervised BEGIN SELECT RAISE(ABORT, 'seamfit: fact_supervised is append-only'); END;
CREATE TRIGGER fact_supervised_no_delete BEFORE DELETE ON fact_supervised BEGIN SELECT RAISE(ABORT, 'seamfit: fact_supervised is append-only'); END;
CREATE TRIGGER fact_supervised_no_replace BEFORE INSERT ON fact_supervised WHEN EXISTS (SELECT 1 FROM fact_supervised WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_supervised is append-only'); END;
CREATE TRIGGER fact_supervised_of_fact BEFORE INSERT ON fact_supervised
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'supervised')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a supervised row needs its fact'); END;

CREATE TRIGGER fact_measure_no_update BEFORE UPDATE ON fact_measure BEGIN SELECT RAISE(ABORT, 'seamfit: fact_measure is append-only'); END;
CREATE TRIGGER fact_measure_no_delete BEFORE DELETE ON fact_measure BEGIN SELECT RAISE(ABORT, 'seamfit: fact_measure is append-only'); END;
CREATE TRIGGER fact_measure_no_replace BEFORE INSERT ON fact_measure WHEN EXISTS (SELECT 1 FROM fact_measure WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_measure is append-only'); END;
CREATE TRIGGER fact_measure_of_fact BEFORE INSERT ON fact_measure
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'measure')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a measure row needs its fact'); END;

CREATE TRIGGER fact_circumstances_no_update BEFORE UPDATE ON fact_circumstances BEGIN SELECT RAISE(ABORT, 'seamfit: fact_circumstances is append-only'); END;
CREATE TRIGGER fact_circumstances_no_delete BEFORE DELETE ON fact_circumstances BEGIN SELECT RAISE(ABORT, 'seamfit: fact_circumstances is append-only'); END;
CREATE TRIGGER fact_circumstances_no_replace BEFORE INSERT ON fact_circumstances WHEN EXISTS (SELECT 1 FROM fact_circumstances WHERE handling = NEW.handling AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: fact_circumstances is append-only'); END;
CREATE TRIGGER fact_circumstances_of_fact BEFORE INSERT ON fact_circumstances
WHEN NOT EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq = NEW.seq AND kind = 'circumstances')
     OR EXISTS (SELECT 1 FROM fact WHERE handling = NEW.handling AND seq > NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a circumstances row needs its fact'); END;

CREATE TRIGGER shift_fact_no_update BEFORE UPDATE ON shift_fact BEGIN SELECT RAISE(ABORT, 'seamfit: shift_fact is append-only'); END;
CREATE TRIGGER shift_fact_no_delete BEFORE DELETE ON shift_fact BEGIN SELECT RAISE(ABORT, 'seamfit: shift_fact is append-only'); END;
CREATE TRIGGER shift_fact_no_replace BEFORE INSERT ON shift_fact WHEN EXISTS (SELECT 1 FROM shift_fact WHERE shift = NEW.shift AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: shift_fact is append-only'); END;
CREATE TRIGGER shift_fact_in_order BEFORE INSERT ON shift_fact
WHEN NOT EXISTS (SELECT 1 FROM shift WHERE id = NEW.shift)
  OR NEW.seq <> 1 + coalesce((SELECT max(seq) FROM shift_fact WHERE shift = NEW.shift), 0)
BEGIN SELECT RAISE(ABORT, 'seamfit: facts of a shift come in order'); END;

-- shift_person: who does what in a shift.
CREATE VIEW shift_person AS
SELECT shift, seq, content ->> '$.name' AS name, content ->> '$.role' AS role FROM shift_fact WHERE kind = 'person';

CREATE TRIGGER shift_person_once BEFORE INSERT ON shift_fact
WHEN NEW.kind = 'person' AND EXISTS (SELECT 1 FROM shift_person p WHERE p.shift = NEW.shift AND p.name COLLATE NOCASE = NEW.content ->> '$.name')
BEGIN SELECT RAISE(ABORT, 'seamfit: a person has one role in a shift'); END;

-- What has been confirmed is not made unconfirmed by a later word about who
-- confirmed it.
CREATE TRIGGER shift_trainee_first BEFORE INSERT ON shift_fact
WHEN NEW.kind = 'person' AND NEW.content ->> '$.role' = 'trainee' AND EXISTS (
     SELECT 1 FROM handling h JOIN fact f ON f.handling = h.id
     WHERE h.shift = NEW.shift AND f.kind IN ('statement', 'read_back') AND f.by COLLATE NOCASE = NEW.content ->> '$.name')
BEGIN SELECT RAISE(ABORT, 'seamfit: a trainee is told before the first closing that they confirm'); END;

CREATE TRIGGER supervised_last_closing BEFORE INSERT ON fact_supervised
WHEN NEW.closing IS NOT (SELECT seq FROM last_closing WHERE handling = NEW.handling AND findings = '[]')
BEGIN SELECT RAISE(ABORT, 'seamfit: a supervisor looks at the last closing, when its look was flush'); END;

CREATE TRIGGER supervised_by_another BEFORE INSERT ON fact_supervised
WHEN EXISTS (SELECT 1 FROM fact f JOIN handling h ON h.id = f.handling
             JOIN shift_person p ON p.shift = h.shift AND p.role = 'trainee' AND p.name COLLATE NOCASE = f.by
             WHERE f.handling = NEW.handling AND f.seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'seamfit: a trainee is not their own supervisor'); END;

-- last_closing: the last closing of the band being worked on, as it was found by
-- the last eye that found something.
DROP VIEW last_closing;
CREATE VIEW last_closing AS
SELECT w.handling, w.band, w.number, w.closure, c.seq,
       coalesce((SELECT v.findings FROM fact_supervised v WHERE v.handling = c.handling AND v.closing = c.seq AND v.findings <> '[]'
                 ORDER BY v.seq DESC LIMIT 1), c.findings) AS findings
FROM worked_band w
JOIN fact_closing c ON c.handling = w.handling AND c.band = w.band
 AND c.seq = (SELECT max(l.seq) FROM fact_closing l WHERE l.handling = w.handling AND l.band = w.band);

-- unsupervised: the closings that a trainee confirmed, in whole or in part,
-- and no supervisor has looked at.
CREATE VIEW unsupervised AS
SELECT m.handling, m.closing FROM (
    SELECT handling, seq, closing FROM fact_statement UNION ALL SELECT handling, seq, closing FROM fact_read_back) m
JOIN fact f ON f.handling = m.handling AND f.seq = m.seq
JOIN handling h ON h.id = m.handling
JOIN shift_person p ON p.shift = h.shift AND p.role = 'trainee' AND p.name COLLATE NOCASE = f.by
WHERE NOT EXISTS (SELECT 1 FROM fact_supervised v WHERE v.handling = m.handling AND v.closing = m.closing);

-- confirmed: as before, and looked at by a supervisor where a trainee
-- confirmed it.
DROP VIEW confirmed;
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
              OR EXISTS (SELECT 1 FROM fact_band t WHERE t.handling = l.handling AND t.band = l.band AND t.event = 'settled' AND t.seq > r.seq)))
  AND NOT EXISTS (SELECT 1 FROM unsupervised n WHERE n.handling = l.handling AND n.closing = l.seq);

-- The new facts as tables for reading, exporting and the shell.

CREATE VIEW supervisions AS
SELECT v.handling, v.seq, v.closing, v.findings, f.at, f.at_offset, f.by
FROM fact_supervised v JOIN fact f USING (handling, seq);

CREATE VIEW measures AS
SELECT m.handling, m.seq, m.name, m.means, m.raw, m.value, m.unit, m.resolution, m.device, m.channel,
       f.at, f.at_offset, f.entered, f.entered_offset, f.by, f.typed, f.replaces, f.why
FROM fact_measure m JOIN fact f USING (handling, seq);

CREATE VIEW circumstances AS
SELECT c.handling, c.seq, c.nest, c.brood, c.captured, c.captured_offset, c.returned_to, f.at, f.at_offset, f.by, f.replaces, f.why
FROM fact_circumstances c JOIN fact f USING (handling, seq);

CREATE VIEW shift_places AS
SELECT shift, seq, content ->> '$.latitude' AS latitude, content ->> '$.longitude' AS longitude,
       content ->> '$.accuracy_m' AS accuracy_m, coalesce(content ->> '$.datum', '') AS datum
FROM shift_fact WHERE kind = 'place';

CREATE VIEW watch_checks AS
SELECT shift, seq, content ->> '$.watch' AS watch, content ->> '$.clock' AS clock FROM shift_fact WHERE kind = 'watch';

CREATE VIEW shift_instruments AS
SELECT shift, seq, content ->> '$.kind' AS kind, content ->> '$.name' AS name, coalesce(content ->> '$.note', '') AS note
FROM shift_fact WHERE kind = 'instrument';

-- Where the files of a submission go, kept with its rows before they are there
-- ('begun'), and that they are there ('out'): what is only begun is written
-- again by the next run.

CREATE TABLE submission_out (
  submission TEXT NOT NULL REFERENCES submission (id),
  state      TEXT NOT NULL CHECK (state IN ('begun', 'out')),
  folder     TEXT NOT NULL,
  at         TEXT NOT NULL, at_offset TEXT NOT NULL,
  PRIMARY KEY (submission, state)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER submission_out_no_update BEFORE UPDATE ON submission_out BEGIN SELECT RAISE(ABORT, 'seamfit: submission_out is append-only'); END;
CREATE TRIGGER submission_out_no_delete BEFORE DELETE ON submission_out BEGIN SELECT RAISE(ABORT, 'seamfit: submission_out is append-only'); END;
CREATE TRIGGER submission_out_no_replace BEFORE INSERT ON submission_out WHEN EXISTS (SELECT 1 FROM submission_out WHERE submission = NEW.submission AND state = NEW.state)
BEGIN SELECT RAISE(ABORT, 'seamfit: submission_out is append-only'); END;
CREATE TRIGGER submission_out_of_submission BEFORE INSERT ON submission_out
WHEN NOT EXISTS (SELECT 1 FROM submission WHERE id = NEW.submission)
BEGIN SELECT RAISE(ABORT, 'seamfit: no such submission'); END;

-- Merging: rows of another bench's file come in as they are. While a merge is
-- open the guards of plans let them in, since what two benches did without
-- knowing of one another has happened; a number on two birds then makes both
-- disputed. The rule that all is for holds all the same. What can't stand beside
-- the rows that are here is kept as it is, until a person decides.

CREATE TABLE merge (
  id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
  at         TEXT NOT NULL, at_offset TEXT NOT NULL,
  by         TEXT NOT NULL,
  file       TEXT NOT NULL, -- the other one's name
  shifts     TEXT NOT NULL CHECK (json_valid(shifts) AND json_type(shifts) = 'array'), -- that it brought
  gauged     TEXT NOT NULL CHECK (json_valid(gauged) AND json_type(gauged) = 'array'), -- calibrations and checks that it brought
  digest     TEXT NOT NULL CHECK (length(digest) = 64)
) STRICT, WITHOUT ROWID;

CREATE TABLE merge_end (
  merge      TEXT NOT NULL PRIMARY KEY REFERENCES merge (id)
) STRICT, WITHOUT ROWID;

-- rows are the row and what belongs to it: the fact with its content, the
-- string with its numbers. id is the digest that they came with.
CREATE TABLE merge_kept (
  id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 64),
  kind       TEXT NOT NULL CHECK (kind <> ''),
  key        TEXT NOT NULL CHECK (key <> ''),
  seq        INTEGER NOT NULL,
  rows       TEXT NOT NULL CHECK (json_valid(rows) AND json_type(rows) = 'array'),
  why        TEXT NOT NULL,
  digest     TEXT NOT NULL CHECK (length(digest) = 64)
) STRICT, WITHOUT ROWID;

CREATE INDEX merge_kept_key ON merge_kept (kind, key);

-- settles names the kept rows after which someone has looked: what stands here
-- is what is true.
CREATE TABLE merge_settled (
  id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
  at         TEXT NOT NULL, at_offset TEXT NOT NULL,
  by         TEXT NOT NULL,
  settles    TEXT NOT NULL CHECK (json_valid(settles) AND json_type(settles) = 'array' AND json_array_length(settles) >= 1),
  reason     TEXT NOT NULL CHECK (reason <> ''),
  digest     TEXT NOT NULL CHECK (length(digest) = 64)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER merge_no_update BEFORE UPDATE ON merge BEGIN SELECT RAISE(ABORT, 'seamfit: merge is append-only'); END;
CREATE TRIGGER merge_no_delete BEFORE DELETE ON merge BEGIN SELECT RAISE(ABORT, 'seamfit: merge is append-only'); END;
CREATE TRIGGER merge_no_replace BEFORE INSERT ON merge WHEN EXISTS (SELECT 1 FROM merge WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'seamfit: merge is append-only'); END;
CREATE TRIGGER merge_end_no_update BEFORE UPDATE ON merge_end BEGIN SELECT RAISE(ABORT, 'seamfit: merge_end is append-only'); END;
CREATE TRIGGER merge_end_no_delete BEFORE DELETE ON merge_end BEGIN SELECT RAISE(ABORT, 'seamfit: merge_end is append-only'); END;
CREATE TRIGGER merge_end_no_replace BEFORE INSERT ON merge_end WHEN EXISTS (SELECT 1 FROM merge_end WHERE merge = NEW.merge)
BEGIN SELECT RAISE(ABORT, 'seamfit: merge_end is append-only'); END;
CREATE TRIGGER merge_kept_no_update BEFORE UPDATE ON merge_kept BEGIN SELECT RAISE(ABORT, 'seamfit: merge_kept is append-only'); END;
CREATE TRIGGER merge_kept_no_delete BEFORE DELETE ON merge_kept BEGIN SELECT RAISE(ABORT, 'seamfit: merge_kept is append-only'); END;
CREATE TRIGGER merge_kept_no_replace BEFORE INSERT ON merge_kept WHEN EXISTS (SELECT 1 FROM merge_kept WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'seamfit: merge_kept is append-only'); END;
CREATE TRIGGER merge_settled_no_update BEFORE UPDATE ON merge_settled BEGIN SELECT RAISE(ABORT, 'seamfit: merge_settled is append-only'); END;
CREATE TRIGGER merge_settled_no_delete BEFORE DELETE ON merge_settled BEGIN SELECT RAISE(ABORT, 'seamfit: merge_settled is append-only'); END;
CREATE TRIGGER merge_settled_no_replace BEFORE INSERT ON merge_settled WHEN EXISTS (SELECT 1 FROM merge_settled WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'seamfit: merge_settled is append-only'); END;

-- taken_in: the shifts that another bench worked. This bench goes on with its
-- own.
CREATE VIEW taken_in AS
SELECT j.value AS shift FROM merge m, json_each(m.shifts) j;

-- gauged_elsewhere: calibrations and checks of other benches' calipers, which may
-- have the name of the one here.
CREATE VIEW gauged_elsewhere AS
SELECT j.value AS id FROM merge m, json_each(m.gauged) j;

CREATE VIEW merging AS
SELECT m.id FROM merge m WHERE NOT EXISTS (SELECT 1 FROM merge_end e WHERE e.merge = m.id);

-- unsettled: what was kept and nobody has decided yet.
CREATE VIEW unsettled AS
SELECT k.id, k.kind, k.key, k.seq, k.rows, k.why FROM merge_kept k
WHERE NOT EXISTS (SELECT 1 FROM merge_settled s, json_each(s.settles) j WHERE j.value = k.id);

-- disputed: as before, and the handlings that two benches continued
-- differently.
DROP VIEW disputed;
CREATE VIEW disputed AS
SELECT b.handling FROM band_now b
WHERE (b.found AND b.state = 'on bird' AND b.conflict = 'destroyed')
   OR NOT b.found AND b.state IN ('opened', 'on bird', 'destroyed') AND (b.conflict = 'unknown'
   OR (b.conflict = 'destroyed' AND b.other IN ('', b.handling))
   OR (b.state <> 'destroyed' AND EXISTS (
         SELECT 1 FROM fact_band k JOIN fact_size z ON z.handling = k.handling
          AND z.seq = (SELECT max(y.seq) FROM fact_size y WHERE y.handling = k.handling)
         WHERE k.handling = b.handling AND k.seq = b.named AND k.stock_size <> ''
           AND (z.size <> k.stock_size OR z.metal <> k.stock_metal)))
   OR EXISTS (SELECT 1 FROM fact_band o JOIN claim c ON c.handling = o.handling AND c.number = o.number
              WHERE o.number = b.number AND o.handling <> b.handling))
UNION
SELECT u.key FROM unsettled u WHERE u.kind = 'handling';

DROP TRIGGER band_number_once;
CREATE TRIGGER band_number_once BEFORE INSERT ON fact_band
WHEN NOT EXISTS (SELECT 1 FROM merging) AND (NEW.event IN ('planned', 'renumbered') AND NEW.conflict = '' AND EXISTS (
     SELECT 1 FROM fact_band o JOIN claim c ON c.handling = o.handling AND c.number = o.number
     WHERE o.number = NEW.number AND (o.handling <> NEW.handling OR c.state = 'destroyed')))
BEGIN SELECT RAISE(ABORT, 'seamfit: the number is in another record'); END;

DROP TRIGGER band_number_gone;
CREATE TRIGGER band_number_gone BEFORE INSERT ON fact_band
WHEN NOT EXISTS (SELECT 1 FROM merging) AND (NEW.event IN ('planned', 'renumbered') AND NEW.conflict = ''
 AND (SELECT m.state FROM stock_mark m WHERE m.number = NEW.number AND m.state <> '' ORDER BY m.seq DESC LIMIT 1)
     IN ('destroyed', 'lost', 'rejected', 'returned'))
BEGIN SELECT RAISE(ABORT, 'seamfit: the number is gone from the stock'); END;

DROP TRIGGER completion_disputed;
CREATE TRIGGER completion_disputed BEFORE INSERT ON fact_completion
WHEN NOT EXISTS (SELECT 1 FROM merging) AND (EXISTS (SELECT 1 FROM disputed WHERE handling = NEW.handling))
BEGIN SELECT RAISE(ABORT, 'seamfit: the number is disputed'); END;

DROP TRIGGER settlement_settles;
CREATE TRIGGER settlement_settles BEFORE INSERT ON settlement
WHEN NOT EXISTS (SELECT 1 FROM merging) AND (EXISTS (SELECT 1 FROM json_each(NEW.handlings) h WHERE EXISTS (SELECT 1 FROM disputed d WHERE d.handling = h.value)))
BEGIN SELECT RAISE(ABORT, 'seamfit: a record would still be disputed'); END;

DROP TRIGGER practice_number_free;
CREATE TRIGGER practice_number_free BEFORE INSERT ON practice
WHEN NOT EXISTS (SELECT 1 FROM merging) AND (NEW.number <> '' AND (EXISTS (SELECT 1 FROM claim c WHERE c.number = NEW.number)
  OR EXISTS (SELECT 1 FROM practice p WHERE p.number = NEW.number)))
BEGIN SELECT RAISE(ABORT, 'seamfit: the number is on a bird, or destroyed already'); END;

