//go:build linux || darwin

package station_test

import (
	"database/sql"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os/exec"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	_ "modernc.org/sqlite" // the records are looked at from outside
)

var kills = flag.Int("kills", 5, "how often the station is killed in the test of crashes")

// deed is what a person does and what the screen then shows, key by key; the
// last key of it tells something to the records.
type deed []struct{ keys, shows string }

// aBird is one bird from the hand to the complete record, without a caliper.
func aBird(number int) []deed {
	tail := fmt.Sprintf("%03d", number%1000)
	typed := func(width, shows string) deed { return deed{{"t", "width:"}, {width + keyEnter, shows}} }
	return []deed{
		{{keyF2, "species:"}},
		{{"common tern", "► Common Tern"}, {keyEnter, "Which age?"}},
		{{"a", "Which sex?"}},
		{{"f", "Which leg gets the band?"}},
		{{"r", "Reading 1 of 3"}},
		typed("3.02", "mm, 1 of 3"),
		typed("3.01", "mm, 2 of 3"),
		typed("3.03", "3.02 ± 0.04 mm, 3 readings"),
		{{"1", "which metal?"}, {"a", "2 aluminium, fits"}},
		{{fmt.Sprintf("1232-%05d", number) + keyEnter, fmt.Sprintf("number 1232-%05d taken", number)}},
		{{"f", "closing 1: flush"}},
		{{"e", "√ e Edges"}},
		{{"r", "√ r Turns"}},
		{{"a", "√ a Nothing"}},
		{{"i", "√ i Rims"}},
		{{tail + keyEnter, "The closing is confirmed."}},
		{{keyF8, "Left the hand at"}},
		{{"b", "Nothing is missing."}},
		{{keyF9, "is complete."}},
	}
}

// did counts the facts on the disk.
func (b *realBench) did() int {
	b.t.Helper()
	db, err := sql.Open("sqlite", "file:"+b.db()+"?_pragma=busy_timeout(5000)")
	require.NoError(b.t, err)
	defer db.Close()
	var n int
	require.NoError(b.t, db.QueryRow("SELECT count(*) FROM fact").Scan(&n))
	return n
}

func (b *realBench) perform(a deed) {
	b.t.Helper()
	for _, key := range a {
		b.does(key.keys, key.shows)
	}
	b.shows("√ saved")
}

// The real station, killed by SIGKILL somewhere around any key of a bird: what
// the screen called saved is there, once, and the next start goes on with the
// same bird at the same step.
func TestTrustTheStationKilledAtAnyKey(t *testing.T) {
	b := newBench(t)
	b.run()
	b.opensShift()
	random := rand.New(rand.NewPCG(5, 6))
	number := 40001
	var facts []int // on the disk after each act of a bird
	base := b.did()
	for _, a := range aBird(number) {
		b.perform(a)
		facts = append(facts, b.did()-base)
	}
	for killed := 0; killed < *kills; {
		number++
		base = b.did()
		deeds := aBird(number)
		for i := 0; i < len(deeds); i++ {
			if random.IntN(4) > 0 || killed == *kills {
				b.perform(deeds[i])
				continue
			}
			killed++
			a := deeds[i]
			for _, key := range a[:len(a)-1] {
				b.does(key.keys, key.shows)
			}
			_, err := io.WriteString(b.tty, a[len(a)-1].keys)
			require.NoError(t, err)
			<-time.After(time.Duration(random.IntN(6000)) * time.Microsecond) // any moment will do
			require.NoError(t, b.cmd.Process.Kill())
			b.end()
			i = b.stood(i, base, facts)
		}
	}
	b.does(keyCtrlQ, "")
	require.Equal(t, 0, b.end())
	birds := b.table("handlings")
	require.Len(t, birds, number-40000)
	for i, bird := range birds {
		require.Equal(t, "true", bird["complete"])
		require.Equal(t, fmt.Sprintf("1232-%05d", 40001+i), bird["number"])
	}
	require.Len(t, b.table("readings"), 3*len(birds))
	require.Len(t, b.table("closings"), len(birds))
	b.verified()
}

// stood starts the station again and returns the last act that the records
// hold: the one during which it was killed, or the one before.
func (b *realBench) stood(during, base int, facts []int) int {
	b.t.Helper()
	last := during
	before := 0
	if during > 0 {
		before = facts[during-1]
	}
	switch held := b.did() - base; held {
	case facts[during]:
	case before:
		last--
	default:
		require.Failf(b.t, "facts were lost or doubled", "%d, not %d or %d", held, before, facts[during])
	}
	b.run()
	if last >= 0 && last < len(facts)-1 {
		b.shows("Open birds taken up where they stood.")
	} else {
		b.shows("Hollow Skerry, Mira Tolland")
	}
	return last
}

// verified has the program look through its records.
func (b *realBench) verified() {
	b.t.Helper()
	cmd := exec.Command(program(b.t), "verify", "--db", b.db())
	cmd.Env = b.env
	out, err := cmd.CombinedOutput()
	require.NoError(b.t, err, string(out))
}
