package store

import (
	"context"
	"database/sql"
	"errors"
)

// Rows are read ahead in blocks by a goroutine, so that a large export reads
// and writes at the same time. Two blocks go round: memory does not grow with
// the records.
const (
	blockRows = 256
	blocks    = 2
)

// block is some rows of a query, one behind the other.
type block struct {
	values []any
	into   []any // pointers to values, for scanning
	rows   int
}

func newBlock(columns int) *block {
	b := &block{values: make([]any, blockRows*columns), into: make([]any, blockRows*columns)}
	for i := range b.values {
		b.into[i] = &b.values[i]
	}
	return b
}

// fill reads rows into b until it is full or there are none left.
func (b *block) fill(rows *sql.Rows, columns int) error {
	for b.rows = 0; b.rows < blockRows && rows.Next(); b.rows++ {
		if err := rows.Scan(b.into[b.rows*columns : (b.rows+1)*columns]...); err != nil {
			return err
		}
	}
	return nil
}

// stream calls each for every row of a query, in this goroutine, while another
// reads ahead. It returns when both have ended, with the first error.
func (v *View) stream(ctx context.Context, conn *sql.Conn, query string, args []any, columns int, each func(values []any) error) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	full, free := make(chan *block), make(chan *block, blocks)
	for range blocks {
		free <- newBlock(columns)
	}
	var failed error // of the reading; to be looked at once full is closed
	go func() {
		defer close(full)
		failed = readAhead(ctx, conn, query, args, columns, free, full)
	}()
	var err error
	for b := range full {
		for i := 0; i < b.rows && err == nil; i++ {
			if err = each(b.values[i*columns : (i+1)*columns]); err != nil {
				stop()
			}
		}
		free <- b
	}
	if err != nil {
		return err
	}
	return v.store.fail("read", failed)
}

// readAhead fills free blocks with the rows of a query and hands them on, until
// the rows end or ctx is done.
func readAhead(ctx context.Context, conn *sql.Conn, query string, args []any, columns int, free <-chan *block, full chan<- *block) (err error) {
	rows, err := conn.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for {
		b := <-free // the taker gives back every block
		if err := b.fill(rows, columns); err != nil {
			return err
		}
		if b.rows == 0 {
			return rows.Err()
		}
		select {
		case full <- b:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}
