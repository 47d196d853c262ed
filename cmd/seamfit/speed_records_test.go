package main

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/length"
	"seamfit/internal/store"
)

// readingsOfABird is how many readings each bird of the large files has.
const readingsOfABird = 10

// recordsOf returns a file of so many complete birds, with a shift open. It is
// made once for each schema and kept among the temporary files, since a
// hundred thousand birds take minutes.
func recordsOf(b *testing.B, birds int) string {
	b.Helper()
	sum := sha256.New()
	files, err := filepath.Glob("../../internal/store/migrations/*.sql")
	require.NoError(b, err)
	for _, file := range append(files, "speed_records_test.go") {
		data, err := os.ReadFile(file)
		require.NoError(b, err)
		sum.Write(data)
	}
	path := filepath.Join(os.TempDir(), fmt.Sprintf("seamfit-speed-%d-%s.db", birds, hex.EncodeToString(sum.Sum(nil))[:12]))
	if _, err := os.Stat(path); err == nil {
		return path
	}
	making := path + ".making"
	for _, end := range []string{"", "-wal", "-shm"} {
		_ = os.Remove(making + end) // of one that was stopped
	}
	known, err := (&app{world: worldOfSpeed()}).load()
	require.NoError(b, err)
	s, err := store.Open(b.Context(), making, store.Options{Closures: known.setup.Book.Closures})
	require.NoError(b, err)
	fill(b, s, known.setup, birds)
	require.NoError(b, s.Close())
	require.NoError(b, os.Rename(making, path))
	return path
}

func worldOfSpeed() world {
	w := system()
	w.env = func(string) string { return "" }
	return w
}

// fill saves so many birds, each a copy of one that went through the bench,
// with its own identifier, number, species and time.
func fill(b *testing.B, s *store.Store, setup *bench.Setup, birds int) {
	b.Helper()
	began := time.Date(2020, 4, 1, 6, 0, 0, 0, time.UTC)
	pattern := facts(b, setup, began)
	species := make([]string, 0, 20)
	for _, sp := range setup.Book.Species[:20] {
		species = append(species, sp.Scientific)
	}
	var batch []bench.Fact
	var shift string
	begin := func(at time.Time, n int) {
		shift = idAt(at, uint64(n)<<1|1)
		require.NoError(b, s.Save(context.Background(), append(batch, bench.ShiftOpened{
			Head:  bench.Head{At: at, Entered: at},
			Shift: bench.Shift{ID: shift, Started: at, Place: "Hollow Skerry", Bander: "Mira Tolland", Permit: "P-77", Catalogue: "us-federal"},
		})))
		batch = batch[:0]
	}
	if birds == 0 {
		begin(began, 0)
		return
	}
	for n := range birds {
		at := began.Add(time.Duration(n) * 30 * time.Minute)
		if n%50 == 0 {
			begin(at, n)
		}
		for _, f := range pattern {
			h := f.Key()
			h.Handling, h.At, h.Entered = idAt(at, uint64(n)<<1), h.At.Add(at.Sub(began)), h.Entered.Add(at.Sub(began))
			batch = append(batch, like(f, h, fmt.Sprintf("%04d-%05d", 10*(100+n/100000)+6, n%100000), species[n%len(species)], shift))
		}
	}
	require.NoError(b, s.Save(context.Background(), batch))
}

// idAt is an identifier of the seventh kind (RFC 9562) for a time.
func idAt(at time.Time, n uint64) string {
	var id uuid.UUID
	binary.BigEndian.PutUint64(id[0:], uint64(at.UnixMilli())<<16|0x7000)
	binary.BigEndian.PutUint64(id[8:], n|0x8000000000000000)
	return id.String()
}

// facts are those of one bird, measured ten times, banded and complete.
func facts(b *testing.B, setup *bench.Setup, at time.Time) (all []bench.Fact) {
	b.Helper()
	state := bench.State{Setup: setup}
	do := func(c bench.Command) {
		next, facts, blockers := bench.Apply(state, c)
		require.Empty(b, blockers, "%T", c)
		state, all = next, append(all, facts...)
	}
	when := func() bench.When { at = at.Add(5 * time.Second); return bench.When{At: at, Entered: at} }
	do(bench.OpenShift{When: when(), Shift: bench.Shift{ID: idAt(at, 1), Started: at, Place: "Hollow Skerry", Bander: "Mira Tolland"}})
	all = nil
	do(bench.OpenBird{When: when(), ID: idAt(at, 0), Bird: bench.Bird{Species: "Larus argentatus", Age: "adult", Leg: bench.LegRight}})
	for i := range readingsOfABird {
		width := length.Length(842+i%3) * 10 * length.Micrometre
		do(bench.TakeReading{
			When: when(), Axis: bench.AxisGreatest, Means: bench.MeansCaliper, Raw: []byte("+" + width.Format(length.MM, 2)), Value: width,
			Unit: length.MM, Resolution: 10 * length.Micrometre, Device: "caliper",
		})
	}
	do(bench.ChooseSize{When: when(), Size: "6", Metal: "stainless steel"})
	do(bench.GiveNumber{When: when(), Number: "1006-00000"})
	do(bench.Look{When: when()})
	do(bench.Confirm{When: when(), All: true, ReadBack: "1006-00000"})
	do(bench.LeaveHand{When: when()})
	do(bench.TellFate{When: when(), Fate: bench.FateBanded})
	do(bench.Complete{When: when()})
	return all
}

// like returns a fact with another head, number, species and shift.
func like(f bench.Fact, h bench.Head, number, species, shift string) bench.Fact {
	switch f := f.(type) {
	case bench.BirdTold:
		f.Head, f.Bird.Species, f.Shift = h, species, shift
		return f
	case bench.ReadingTaken:
		f.Head = h
		return f
	case bench.LegEstimated:
		f.Head = h
		return f
	case bench.SizeChosen:
		f.Head = h
		return f
	case bench.BandTold:
		f.Head, f.Number = h, number
		return f
	case bench.ClosingLooked:
		f.Head = h
		return f
	case bench.StatementMade:
		f.Head = h
		return f
	case bench.NumberReadBack:
		f.Head, f.Digits = h, number
		return f
	case bench.LeftHand:
		f.Head = h
		return f
	case bench.FateTold:
		f.Head = h
		return f
	case bench.Completed:
		f.Head = h
		return f
	default:
		panic(fmt.Sprintf("a bird that is banded has no %T", f))
	}
}
