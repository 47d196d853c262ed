package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Joining is one merge: under which identifier it is recorded, when, and by
// whom. Copy, where it is given, is called when the other file is found whole, and
// before anything is written: its error ends the merge.
type Joining struct {
	ID   string
	At   time.Time
	By   string
	Copy func(context.Context) error
}

// Joined is what a merge brought: how many records of each kind are new or
// were continued, and of how many something was kept aside because it can't
// stand beside what is here.
type Joined struct {
	Added map[string]int `json:"added"`
	Kept  map[string]int `json:"kept"`
}

func mergeColumns() []string     { return strings.Fields("id at at_offset by file shifts gauged") }
func mergeKeptColumns() []string { return strings.Fields("id kind key seq rows why") }

// errNothingNew ends a merge that changed nothing, so that it leaves no trace.
var errNothingNew = errors.New("nothing new")

// Merge takes in the records of another bench's file, which is verified first
// and never written to. Its rows come in as they are, with their digests, in
// one transaction; what is here already is left alone, so that a second merge
// does nothing. Nothing is overwritten: what can't stand beside the rows here is
// kept aside as it is; see Conflicts. The order of several files makes no
// difference to what the file holds in the end, only to which of two that can't
// stand together stands and which is kept. It returns ErrTraining for a file of
// the other kind, ErrDamaged for one that is not whole, and OpenReadOnly's
// errors.
func (s *Store) Merge(ctx context.Context, other string, j Joining) (joined Joined, err error) {
	joined = Joined{Added: map[string]int{}, Kept: map[string]int{}}
	if a, err := os.Stat(s.path); err == nil {
		if b, err := os.Stat(other); err == nil && os.SameFile(a, b) {
			return joined, &Error{Op: "merge", Path: other, Err: errors.New("it is the same file"), Hint: "name the other bench's file"}
		}
	}
	source, err := openVerified(ctx, other, Options{EitherKind: true})
	if err != nil {
		return joined, err
	}
	defer func() { err = errors.Join(err, source.Close()) }()
	if source.training != s.training {
		return joined, &Error{Op: "merge", Path: other, Err: ErrTraining, Hint: "merge real records with real ones, and training with training"}
	}
	if j.Copy != nil {
		if err := j.Copy(ctx); err != nil {
			return joined, err
		}
	}
	s.saving.Lock()
	defer s.saving.Unlock()
	err = source.View(ctx, func(v *View) error {
		m := &merger{store: s, from: v, joined: joined, columns: map[string][]string{}, reads: map[string]*sql.Stmt{}}
		defer m.close()
		return s.transact(context.WithoutCancel(ctx), func() error { return m.run(ctx, j, filepath.Base(other)) })
	})
	if errors.Is(err, errNothingNew) {
		return joined, nil
	}
	return joined, s.fail("merge", err)
}

// merger is one merge under way.
type merger struct {
	store   *Store
	from    *View
	joined  Joined
	columns map[string][]string // of each table
	reads   map[string]*sql.Stmt
}

func (m *merger) close() {
	for _, st := range m.reads {
		_ = st.Close() // a read-only statement has nothing to lose
	}
}

func (m *merger) run(ctx context.Context, j Joining, file string) error {
	s := m.store
	shifts, err := m.brought(ctx, "SELECT id FROM shift ORDER BY id")
	if err != nil {
		return err
	}
	gauged, err := m.brought(ctx, "SELECT id FROM calibration UNION ALL SELECT id FROM rod_check ORDER BY id")
	if err != nil {
		return err
	}
	values := []any{j.ID, utc(j.At), offset(j.At), j.By, file, shifts, gauged}
	if err := s.exec(ctx, insertInto("merge", mergeColumns(), "digest"), append(values, digestOf(values))...); err != nil {
		return err
	}
	if err := m.declarations(ctx); err != nil {
		return err
	}
	for _, k := range mergeKinds() {
		if err := m.kind(ctx, k); err != nil {
			return fmt.Errorf("%s: %w", k.name, err)
		}
	}
	if err := m.keptBefore(ctx); err != nil {
		return err
	}
	if len(m.joined.Added)+len(m.joined.Kept) == 0 {
		return errNothingNew
	}
	return s.exec(ctx, "INSERT INTO merge_end (merge) VALUES (?)", j.ID)
}

// brought lists what a query of ids finds in the other file and not here.
func (m *merger) brought(ctx context.Context, query string) (list string, err error) {
	known := map[string]bool{}
	here := &View{store: m.store, conn: m.store.writer}
	if err := here.each(ctx, query, func(r []any) error {
		known[text(r[0])] = true
		return nil
	}); err != nil {
		return "", err
	}
	ids := []string{}
	if err := m.from.each(ctx, query, func(r []any) error {
		if !known[text(r[0])] {
			ids = append(ids, text(r[0]))
		}
		return nil
	}); err != nil {
		return "", err
	}
	return jsonText(ids)
}

// declarations takes in what closure kinds ask for that are unknown here. Of
// those known here, what this bench declares holds.
func (m *merger) declarations(ctx context.Context) error {
	known := map[string]bool{}
	here := &View{store: m.store, conn: m.store.writer}
	if err := here.each(ctx, "SELECT DISTINCT closure FROM closure_declaration", func(r []any) error {
		known[text(r[0])] = true
		return nil
	}); err != nil {
		return err
	}
	return m.from.each(ctx, "SELECT closure, version, declared, statements FROM closure_declaration ORDER BY closure, version", func(r []any) error {
		if known[text(r[0])] {
			return nil
		}
		m.joined.Added["declaration"]++
		return m.store.insertDeclaration(ctx, r[0], r[1], r[2], r[3])
	})
}

// kind takes in all chains of a kind.
func (m *merger) kind(ctx context.Context, k mergeKind) error {
	here := &View{store: m.store, conn: m.store.writer}
	return m.from.each(ctx, k.keys, func(r []any) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		mine, err := digests(ctx, here, k, text(r[0]))
		if err != nil {
			return err
		}
		theirs, err := digests(ctx, m.from, k, text(r[0]))
		if err != nil {
			return err
		}
		same := true
		for seq, digest := range theirs {
			same = same && mine[seq] == digest
		}
		if same {
			return nil
		}
		units, err := k.units(ctx, m, text(r[0]))
		if err != nil {
			return err
		}
		return m.chain(ctx, k, mine, units)
	})
}

// chain takes in the links of one chain that are not here, up to the first
// that can't follow what is here; that one and those after it are kept.
func (m *merger) chain(ctx context.Context, k mergeKind, mine map[int64]string, units []unit) error {
	var missing []unit
	follows := true
	for _, u := range units {
		if mine[u.seq] != u.digest {
			follows = follows && mine[u.seq] == ""
			missing = append(missing, u)
		}
	}
	kept, err := m.kept(ctx, missing)
	if err != nil {
		return err
	}
	if follows && len(kept) == 0 {
		// Nearly always the whole of it comes in.
		var all []record
		for _, u := range missing {
			all = append(all, u.rows...)
		}
		refused, err := m.tryInsert(ctx, all)
		if err != nil {
			return err
		}
		if refused == "" {
			m.joined.Added[k.name]++
			return nil
		}
	}
	return m.chainByLinks(ctx, k, mine, missing, kept)
}

func (m *merger) chainByLinks(ctx context.Context, k mergeKind, mine map[int64]string, missing []unit, kept map[string]bool) (err error) {
	why, added, set := "", 0, 0
	for _, u := range missing {
		switch {
		case why != "":
		case kept[u.digest]:
			why = "kept before"
		case mine[u.seq] != "":
			why = "told differently here"
		default:
			if why, err = m.tryInsert(ctx, u.rows); err != nil {
				return err
			}
		}
		switch {
		case why == "":
			added++
		case !kept[u.digest]:
			set++
			if err := m.keep(ctx, u, why); err != nil {
				return err
			}
		}
	}
	if added > 0 {
		m.joined.Added[k.name]++
	}
	if set > 0 {
		m.joined.Kept[k.name]++
	}
	return nil
}

// tryInsert inserts rows, all or none; it returns why the guards refuse one.
func (m *merger) tryInsert(ctx context.Context, rows []record) (refused string, err error) {
	s := m.store
	if err := s.exec(ctx, "SAVEPOINT link"); err != nil {
		return "", err
	}
	for _, r := range rows {
		if err = s.exec(ctx, insertInto(r.table, r.columns), r.values...); err != nil {
			break
		}
	}
	var sq *sqlite.Error
	if err == nil {
		return "", s.exec(ctx, "RELEASE link")
	}
	if !errors.As(err, &sq) || sq.Code()&0xff != sqlite3.SQLITE_CONSTRAINT {
		return "", err
	}
	if err := errors.Join(s.exec(ctx, "ROLLBACK TO link"), s.exec(ctx, "RELEASE link")); err != nil {
		return "", err
	}
	_, reason, ok := strings.Cut(sq.Error(), "seamfit: ")
	if !ok {
		reason = sq.Error()
	}
	if i := strings.LastIndex(reason, " ("); i > 0 {
		reason = reason[:i]
	}
	return reason, nil
}

// kept returns which of the links were kept aside before.
func (m *merger) kept(ctx context.Context, units []unit) (kept map[string]bool, err error) {
	kept = map[string]bool{}
	for _, u := range units {
		is, err := m.isKept(ctx, u.digest)
		if err != nil {
			return nil, err
		}
		if is {
			kept[u.digest] = true
		}
	}
	return kept, nil
}

func (m *merger) isKept(ctx context.Context, id string) (kept bool, err error) {
	st, err := m.store.prepared(ctx, "SELECT EXISTS (SELECT 1 FROM merge_kept WHERE id = ?)")
	if err != nil {
		return false, err
	}
	err = st.QueryRowContext(ctx, id).Scan(&kept)
	return kept, err
}

func (m *merger) keep(ctx context.Context, u unit, why string) error {
	rows, err := u.json()
	if err != nil {
		return err
	}
	values := []any{u.digest, u.kind, u.key, u.seq, rows, why}
	return m.store.exec(ctx, insertInto("merge_kept", mergeKeptColumns(), "digest"), append(values, digestOf(values))...)
}

// keptBefore takes in what the other bench kept from earlier merges, unless it
// stands here.
func (m *merger) keptBefore(ctx context.Context) error {
	here := &View{store: m.store, conn: m.store.writer}
	byName := map[string]mergeKind{}
	for _, k := range mergeKinds() {
		byName[k.name] = k
	}
	return m.from.each(ctx, fmt.Sprintf("SELECT %s, digest FROM merge_kept AS t ORDER BY id", qualified(mergeKeptColumns())), func(r []any) error {
		kept, err := m.isKept(ctx, text(r[0]))
		if err != nil || kept {
			return err
		}
		if k, ok := byName[text(r[1])]; ok {
			mine, err := digests(ctx, here, k, text(r[2]))
			if seq, _ := r[3].(int64); err != nil || mine[seq] == r[0] {
				return err
			}
		}
		m.joined.Kept[text(r[1])]++
		return m.store.exec(ctx, insertInto("merge_kept", mergeKeptColumns(), "digest"), r...)
	})
}
