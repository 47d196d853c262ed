package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
)

const (
	// applicationID marks the file in SQLite's header: "SeaM".
	applicationID = 0x5365614D
	// schemaVersion is the newest migration's number.
	schemaVersion = 3
	// schemaDigest is the digest of the schema text that the migrations make;
	// a test holds it. A file with another text has lost a guard.
	schemaDigest = "62f08589be3a30cab0c424e3b4a36fc4be0bea8ce9c42297c5b6ecf6dae93426"
)

// checkIdentity tells a foreign file from ours before anything is written.
func (s *Store) checkIdentity(ctx context.Context) error {
	id, err := s.pragmaInt(ctx, "application_id")
	if err != nil {
		return err
	}
	version, err := s.pragmaInt(ctx, "user_version")
	if err != nil {
		return err
	}
	if id == applicationID && version < 1 {
		return &Error{Op: "open", Path: s.path, Err: fmt.Errorf("%w: its schema is %d", ErrDamaged, version), Hint: mendDamaged}
	}
	if version > schemaVersion && id == applicationID {
		return &Error{
			Op: "open", Path: s.path, Err: fmt.Errorf("%w (its schema is %d, this program knows %d)", ErrNewer, version, schemaVersion),
			Hint: "use the newer program, or another file with --db",
		}
	}
	var tables int
	if err := s.writer.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil {
		return err
	}
	empty := id == 0 && version == 0 && tables == 0
	if empty && !s.begun {
		return &Error{
			Op: "open", Path: s.path, Err: fmt.Errorf("%w: there is nothing in it; its -wal file may be missing", ErrDamaged),
			Hint: "put the file of that name with -wal at its end beside it, or restore the last backup",
		}
	}
	if id != applicationID && !empty {
		return s.notOurs()
	}
	return nil
}

func (s *Store) notOurs() error {
	return &Error{
		Op: "open", Path: s.path, Err: ErrNotDatabase,
		Hint: "it is some other program's database: name the bench's own file with --db",
	}
}

func (s *Store) checkTraining(ctx context.Context, opt Options) error {
	var kind string
	if err := s.writer.QueryRowContext(ctx, "SELECT value FROM meta WHERE key = 'kind'").Scan(&kind); err != nil {
		return err
	}
	s.training = kind == "training"
	if s.training != opt.Training && !opt.EitherKind {
		hint := "it holds training records: name the bench's own file with --db"
		if opt.Training {
			hint = "it holds real records: name another file for training with --db"
		}
		return &Error{Op: "open", Path: s.path, Err: ErrTraining, Hint: hint}
	}
	return nil
}

func (s *Store) checkSchema(ctx context.Context) error {
	return s.requireSchema(ctx, s.writer, schemaDigest)
}

// requireSchema returns ErrTampered where the schema's text is not the one of
// that digest.
func (s *Store) requireSchema(ctx context.Context, conn *sql.Conn, digest string) error {
	got, err := schemaText(ctx, conn)
	if err != nil {
		return err
	}
	if got != digest {
		return &Error{
			Op: "open", Path: s.path, Err: ErrTampered,
			Hint: "tables or triggers were changed by another program: restore the last backup, and keep this file for the person who answers for the records",
		}
	}
	return nil
}

const schemaQuery = `SELECT type, name, tbl_name, coalesce(sql, '') FROM sqlite_schema
	WHERE name NOT LIKE 'sqlite\_%' ESCAPE '\' ORDER BY type, name`

// schemaText returns the digest of all that SQLite knows of the schema.
func schemaText(ctx context.Context, conn *sql.Conn) (digest string, err error) {
	rows, err := conn.QueryContext(ctx, schemaQuery)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	var values []any
	for rows.Next() {
		var kind, name, table, text string
		if err := rows.Scan(&kind, &name, &table, &text); err != nil {
			return "", err
		}
		values = append(values, kind, name, table, text)
	}
	return digestOf(values), rows.Err()
}

// declare writes the statements that each closure kind asks for, where they
// differ from those declared last.
func (s *Store) declare(ctx context.Context, opt Options) error {
	for _, c := range opt.Closures {
		ids := make([]string, len(c.Statements))
		for i, st := range c.Statements {
			ids[i] = st.ID
		}
		slices.Sort(ids)
		text, err := json.Marshal(ids)
		if err != nil {
			return err
		}
		var version int
		var last string
		err = s.writer.QueryRowContext(ctx,
			"SELECT version, statements FROM closure_declaration WHERE closure = ? ORDER BY version DESC LIMIT 1", c.ID).Scan(&version, &last)
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		if last == string(text) {
			continue
		}
		if len(ids) == 0 {
			return fmt.Errorf("closure kind %q declares no statement", c.ID)
		}
		if err := s.transact(ctx, func() error {
			return s.insertDeclaration(ctx, c.ID, int64(version)+1, utc(s.now()), string(text))
		}); err != nil {
			return err
		}
	}
	return nil
}

// insertDeclaration stores what a closure kind asks for, and its digest in
// meta: the table has no room for one.
func (s *Store) insertDeclaration(ctx context.Context, closure, version, declared, statements any) error {
	if err := s.exec(ctx, "INSERT INTO closure_declaration (closure, version, declared, statements) VALUES (?, ?, ?, ?)",
		closure, version, declared, statements); err != nil {
		return err
	}
	return s.sealDeclaration(ctx, closure, version, declared, statements)
}

func (s *Store) sealDeclaration(ctx context.Context, values ...any) error {
	return s.exec(ctx, "INSERT INTO meta (key, value) VALUES (?, ?)", declarationKey(values), digestOf(values))
}

// declarationKey is the key in meta of a declaration's digest.
func declarationKey(values []any) string {
	return fmt.Sprintf("declaration %v %v", values[0], values[1])
}

// sealDeclarations stores the digests of declarations made by earlier programs,
// which kept none.
func (s *Store) sealDeclarations(ctx context.Context) error {
	var all [][]any
	here := &View{store: s, conn: s.writer}
	if err := here.each(ctx, "SELECT closure, version, declared, statements FROM closure_declaration", func(r []any) error {
		all = append(all, r)
		return nil
	}); err != nil {
		return err
	}
	for _, values := range all {
		if err := s.sealDeclaration(ctx, values...); err != nil {
			return err
		}
	}
	return nil
}
