package store

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"path/filepath"
)

//go:embed migrations/*.sql
var migrations embed.FS

// earlierDigests are the digests of the schemas that earlier programs made, by
// version.
func earlierDigests() map[int64]string {
	return map[int64]string{
		1: "a7a2e791788d298c5ce99b2a555324fe4deea0df499320e999026f2330188655",
		2: "7db8ec79ef055f659902820e675b9e0e41e929d53643512c4f7919c9edb777be",
	}
}

// digestOfVersion is the digest of a schema; empty for one that there never was.
func digestOfVersion(version int64) string {
	if version == schemaVersion {
		return schemaDigest
	}
	return earlierDigests()[version]
}

// migrate brings the file to schemaVersion in one transaction, so that a crash
// leaves the old file or the new one. Of a file with records a copy is kept
// beside it first; one whose schema is not as its version made it is left as
// it is, with ErrTampered.
func (s *Store) migrate(ctx context.Context, opt Options) (err error) {
	version, err := s.pragmaInt(ctx, "user_version")
	if err != nil || version == schemaVersion {
		return err
	}
	// Tables are built anew as SQLite's documentation of ALTER TABLE advises.
	// Both settings are without effect inside a transaction.
	if err := s.set(ctx, "PRAGMA foreign_keys = OFF", "PRAGMA legacy_alter_table = ON"); err != nil {
		return err
	}
	defer func() {
		err = errors.Join(err, s.set(context.WithoutCancel(ctx), "PRAGMA legacy_alter_table = OFF", "PRAGMA foreign_keys = ON"))
	}()
	return s.transact(ctx, func() error {
		// Another program may have come first, between the look and the lock.
		version, err := s.pragmaInt(ctx, "user_version")
		if err != nil || version == schemaVersion {
			return err
		}
		if version > 0 && !s.temporary {
			if err := s.requireSchema(ctx, s.writer, digestOfVersion(version)); err != nil {
				return err
			}
			if err := s.keepBefore(ctx); err != nil {
				return fmt.Errorf("keep a copy before the schema is changed: %w", err)
			}
		}
		if err := s.migrateFrom(ctx, version, opt); err != nil || version == 0 {
			return err
		}
		return s.requireSchema(ctx, s.writer, schemaDigest)
	})
}

// migrateFrom runs the migrations after a version, within the transaction.
func (s *Store) migrateFrom(ctx context.Context, version int64, opt Options) error {
	files, err := migrations.ReadDir("migrations")
	if err != nil {
		return err
	}
	for i, file := range files[version:] {
		text, err := migrations.ReadFile("migrations/" + file.Name())
		if err != nil {
			return err
		}
		if err := s.set(ctx, string(text)); err != nil {
			return fmt.Errorf("schema %d: %w", version+int64(i)+1, err)
		}
	}
	if version == 1 {
		if err := s.sealDeclarations(ctx); err != nil {
			return err
		}
	}
	if version == 0 {
		if err := s.begunAs(ctx, opt.Training); err != nil {
			return err
		}
	}
	if err := s.set(ctx, fmt.Sprintf("PRAGMA user_version = %d", schemaVersion)); err != nil {
		return err
	}
	rows, err := s.writer.QueryContext(ctx, "PRAGMA foreign_key_check")
	if err != nil {
		return err
	}
	if rows.Next() {
		err = fmt.Errorf("%w: a row points to one that is not there", ErrDamaged)
	}
	return errors.Join(err, rows.Err(), rows.Close())
}

// begunAs writes what a new file is, for ever.
func (s *Store) begunAs(ctx context.Context, training bool) error {
	kind := "records"
	if training {
		kind = "training"
	}
	if err := s.set(ctx, fmt.Sprintf("PRAGMA application_id = %d", applicationID)); err != nil {
		return err
	}
	_, err := s.writer.ExecContext(ctx, "INSERT INTO meta (key, value) VALUES ('kind', ?)", kind)
	return err
}

// keepBefore keeps a copy of the file as it is beside it.
func (s *Store) keepBefore(ctx context.Context) error {
	conn, err := s.db.Conn(ctx)
	if err != nil {
		return err
	}
	name := fmt.Sprintf("%s.before-schema-%d.%s", s.path, schemaVersion, stamp(s.now()))
	_, err = copyTo(ctx, conn, filepath.Dir(name), named(name, ".db"))
	return errors.Join(err, conn.Close())
}
