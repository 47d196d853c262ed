-- A band that was taken for a bird and never looked at is on the bird, and not on
-- the tubing, when the bird left as banded or with its closure unconfirmed. That
-- may have been told wrongly: it can still be put back.

DROP VIEW band_now;
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
         WHEN (SELECT f.fate FROM fact_fate f WHERE f.handling = b.handling ORDER BY f.seq DESC LIMIT 1) IN ('banded', 'unconfirmed') THEN 'on bird'
         ELSE 'opened'
       END AS state,
       b.leg, b.site, b.condition, b.scheme, b.closure,
       (SELECT n.seq FROM fact_band n WHERE n.handling = b.handling AND n.band = b.seq
         AND n.event IN ('planned', 'renumbered', 'settled', 'found') ORDER BY n.seq DESC LIMIT 1) AS named
FROM fact_band b WHERE b.event IN ('planned', 'found');

-- bands: why a band came off stays its reason, whatever is settled of its number
-- later.
DROP VIEW bands;
CREATE VIEW bands AS
SELECT n.handling, n.band, n.number, n.state, n.leg, n.site, n.found, n.done, n.condition, n.scheme, n.conflict, n.other,
       coalesce((SELECT r.reason FROM fact_band r WHERE r.handling = n.handling AND r.band = n.band AND r.event = 'removed'),
                (SELECT r.reason FROM fact_band r WHERE r.handling = n.handling AND r.band = n.band ORDER BY r.seq DESC LIMIT 1)) AS reason
FROM band_now n;

DROP TRIGGER band_events;
-- A band's events follow one another as they can with a real band.
CREATE TRIGGER band_events BEFORE INSERT ON fact_band
WHEN (NEW.event = 'planned' AND EXISTS (SELECT 1 FROM worked_band WHERE handling = NEW.handling))
  OR (NEW.event = 'found' AND NEW.done = 'worked' AND EXISTS (SELECT 1 FROM worked_band WHERE handling = NEW.handling))
  OR (NEW.event = 'returned' AND (NOT EXISTS (SELECT 1 FROM band_now WHERE handling = NEW.handling AND band = NEW.band AND NOT found AND state IN ('opened', 'on bird'))
                               OR EXISTS (SELECT 1 FROM fact_closing WHERE handling = NEW.handling AND band = NEW.band)))
  OR (NEW.event IN ('renumbered', 'removed') AND NOT EXISTS (SELECT 1 FROM band_now WHERE handling = NEW.handling AND band = NEW.band AND state IN ('opened', 'on bird')))
  OR (NEW.event = 'settled' AND NOT EXISTS (SELECT 1 FROM band_now WHERE handling = NEW.handling AND band = NEW.band AND state <> 'put back'))
  OR (NEW.event NOT IN ('renumbered', 'settled') AND EXISTS (SELECT 1 FROM fact_completion WHERE handling = NEW.handling))
BEGIN SELECT RAISE(ABORT, 'seamfit: that can not happen to this band now'); END;

-- A reading that was the wrong one may be set aside in a complete record too.
DROP TRIGGER fact_after_completion;
CREATE TRIGGER fact_after_completion BEFORE INSERT ON fact
WHEN EXISTS (SELECT 1 FROM fact_completion WHERE handling = NEW.handling)
     AND NOT (NEW.kind IN ('bird', 'band', 'set_aside', 'estimate', 'measure', 'circumstances') AND NEW.why <> '')
BEGIN SELECT RAISE(ABORT, 'seamfit: the record is complete; only corrections with a reason are taken'); END;

-- handlings: the leg is that of the band whose number is given, where it is told
-- otherwise than the bird's. That it left the hand may have been taken back.
DROP VIEW handlings;
CREATE VIEW handlings AS
SELECT h.id AS handling, h.shift, s.place, s.permit, s.catalogue, s.training,
       f.by AS bander, f.at AS opened, f.at_offset AS opened_offset,
       (SELECT CASE WHEN l.replaces > 0 THEN NULL ELSE l.at END FROM fact l WHERE l.handling = h.id AND l.kind = 'left' ORDER BY l.seq DESC LIMIT 1) AS left_hand,
       b.species, b.age, b.sex,
       coalesce((SELECT nullif(n.leg, '') FROM band_now n WHERE n.handling = h.id AND n.state IN ('on bird', 'opened') ORDER BY n.band DESC LIMIT 1), b.leg) AS leg,
       b.site,
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
