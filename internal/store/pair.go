package store

import (
	"context"
	"database/sql"
	"errors"
)

// pairTries is how often two connections are begun because something was saved
// between them.
const pairTries = 5

// PairedView is View for one who reads much: two tables can be read at a time.
// It is View where no second connection sees the same moment, because the bench
// saves so often or because there can't be one.
func (s *Store) PairedView(ctx context.Context, read func(*View) error) error {
	return s.View(ctx, func(v *View) (err error) {
		second, err := s.second(ctx, v.conn)
		if err != nil {
			return s.fail("read", err)
		}
		if second != nil {
			v.free <- second
			defer func() { err = errors.Join(err, rollback(ctx, second), second.Close()) }()
		}
		return read(v)
	})
}

// second returns another connection that sees the same moment as first, which
// has begun; nil where there is none. Its error says that first is of no use.
func (s *Store) second(ctx context.Context, first *sql.Conn) (*sql.Conn, error) {
	second, err := s.db.Conn(ctx)
	if err != nil {
		return nil, ctx.Err()
	}
	if err := begin(ctx, second); err != nil {
		_ = second.Close() // of no use, and nothing was written
		return nil, ctx.Err()
	}
	same, err := together(ctx, first, second, seen)
	if same && err == nil {
		return second, nil
	}
	_, _ = rollback(ctx, second), second.Close()
	return nil, err
}

// together begins both connections anew until they see the same moment: what
// second saw is the same before first saw its own and after. look is seen. It
// reports whether they came to that. Its errors are those of first and of ctx.
func together(ctx context.Context, first, second *sql.Conn, look func(context.Context, *sql.Conn) (int64, error)) (same bool, err error) {
	before, err := look(ctx, second)
	for range pairTries {
		if err != nil {
			return false, ctx.Err() // without second
		}
		for _, conn := range []*sql.Conn{first, second} {
			if err := errors.Join(rollback(ctx, conn), begin(ctx, conn)); err != nil {
				return false, err
			}
		}
		if _, err := look(ctx, first); err != nil {
			return false, err
		}
		var now int64
		if now, err = look(ctx, second); err == nil && now == before {
			return true, nil
		}
		before = now
	}
	return false, ctx.Err()
}

// seen has a connection see the records, and returns a number that is the same
// as the last time on that connection if nothing was saved by others since
// (PRAGMA data_version).
func seen(ctx context.Context, conn *sql.Conn) (version int64, err error) {
	var tables int
	if err := conn.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil {
		return 0, err
	}
	err = conn.QueryRowContext(ctx, "PRAGMA data_version").Scan(&version)
	return version, err
}
