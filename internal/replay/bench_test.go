package replay

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
	"seamfit/internal/length"
)

// notebook is a store in memory.
type notebook struct {
	facts map[string][]bench.Fact
	fail  error
}

func (n *notebook) Save(_ context.Context, facts []bench.Fact) error {
	if n.fail != nil {
		return n.fail
	}
	for _, f := range facts {
		id := f.Key().Handling
		n.facts[id] = append(n.facts[id], f)
	}
	return nil
}

func (n *notebook) Load(_ context.Context, id string) (bench.Handling, error) {
	var h bench.Handling
	for _, f := range n.facts[id] {
		h = bench.FoldHandling(h, f)
	}
	return h, nil
}

func (n *notebook) Standing(ctx context.Context, number string) (bench.Standing, error) {
	for id := range n.facts {
		h, err := n.Load(ctx, id)
		if err != nil {
			return bench.Standing{}, err
		}
		for _, b := range h.Bands {
			if b.Number == number {
				return bench.Standing{State: b.State, Handling: id}, nil
			}
		}
	}
	return bench.Standing{}, nil
}

func newBench(t require.TestingT) (*Bench, *notebook) {
	caliper, err := device.NewDecoder(device.Plain, device.DecoderOptions{Unit: length.MM})
	require.NoError(t, err)
	scanner, err := device.NewScanDecoder(device.ScannerOptions{})
	require.NoError(t, err)
	return newBenchWith(t, Devices{Caliper: caliper, Scanner: scanner})
}

func newBenchWith(t require.TestingT, devices Devices) (*Bench, *notebook) {
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	patterns, err := bands.Embedded()
	require.NoError(t, err)
	pattern, ok := patterns.Named("federal")
	require.True(t, ok)
	clock := time.Date(2026, 5, 17, 6, 0, 0, 0, time.UTC)
	now := func() time.Time {
		clock = clock.Add(time.Second)
		return clock
	}
	ids := 0
	records := &notebook{facts: map[string][]bench.Fact{}}
	b, err := New(bench.State{Setup: &bench.Setup{
		Book: book, Catalogue: "us-federal", Model: fit.DefaultModel(), Pattern: pattern, Readings: 3, AbsurdOver: 60 * length.Millimetre,
	}}, records, devices, Source{Now: now, NewID: func() string {
		ids++
		return fmt.Sprintf("id-%d", ids)
	}})
	require.NoError(t, err)
	return b, records
}

const easyBird = `{"do":"shift","place":"Skerry of Ness","bander":"A. Holm","permit":"P-17"}
{"do":"bird","species":"Larus argentatus","age":"adult","leg":"right"}
{"caliper":"+8.4"}
{"caliper":"2\r+8.45\r+8.40\r"}
{"do":"size","size":"6","metal":"stainless steel"}
{"scanner":"1236-56701\r\n"}
{"do":"look","findings":[]}
{"do":"confirm","statements":"all","read_back":701}
{"do":"fate","as":"banded"}
{"do":"complete"}`

func play(t require.TestingT, b *Bench, lines string) {
	for _, line := range strings.Split(lines, "\n") {
		require.NoError(t, b.Play(context.Background(), []byte(line)))
	}
}

func TestAnEasyBirdFromItsLines(t *testing.T) {
	b, _ := newBench(t)
	play(t, b, easyBird)
	out, err := b.Outcome(t.Context())
	require.NoError(t, err)
	assert.Empty(t, out.Refused)
	require.Len(t, out.Handlings, 1)
	h := out.Handlings[0]
	assert.True(t, h.Complete && h.Confirmed)
	assert.Equal(t, "1236-56701", h.Number)
	assert.Equal(t, []Band{{"1236-56701", bands.OnBird}}, h.Bands)
	assert.Equal(t, 3, h.Leg.N)
}

func TestALineThatIsRefusedIsNumberedAndChangesNothing(t *testing.T) {
	b, records := newBench(t)
	play(t, b, "{\"do\":\"shift\"}\n\n{\"do\":\"bird\",\"wings\":2}\n[]\n{\"do\":\"bird\"} {}\n{\"do\":\"fly\"}\n{\"do\":\"look\"}\n{\"do\":\"confirm\",\"statements\":\"some\"}\n{\"do\":\"width\",\"mm\":true}")
	var lines []int
	for _, r := range b.Refusals() {
		lines = append(lines, r.Line)
		assert.NotEmpty(t, r.Blockers[0].Mend)
	}
	assert.Equal(t, []int{3, 4, 5, 6, 7, 8, 9}, lines)
	assert.Len(t, records.facts, 1, "the shift alone is kept")
}

func TestWhenTheRecordsFailTheReplayStops(t *testing.T) {
	b, records := newBench(t)
	play(t, b, `{"do":"shift"}`)
	records.fail = errors.New("the disk is full")
	err := b.Play(t.Context(), []byte(`{"do":"bird","species":"Larus argentatus"}`))
	require.ErrorContains(t, err, "line 2: the disk is full")
	records.fail = nil
	play(t, b, `{"do":"look"}`)
	assert.Equal(t, bench.NoBird, b.Refusals()[0].Blockers[0].Code, "the bird that was not saved is not there")
}

func TestARuleOfTheRecordsRefusesALine(t *testing.T) {
	b, records := newBench(t)
	play(t, b, `{"do":"shift"}`)
	records.fail = fmt.Errorf("%w: the number is in another record", bench.ErrRefused)
	play(t, b, `{"do":"bird","species":"Larus argentatus"}`)
	require.Len(t, b.Refusals(), 1)
	assert.Equal(t, bench.Code("records"), b.Refusals()[0].Blockers[0].Code)
}

func FuzzPlay(f *testing.F) {
	for _, line := range strings.Split(easyBird, "\n") {
		f.Add([]byte(line))
	}
	f.Add([]byte(`{"do":"found","number":"12?6-5670?","then":"worked"}`))
	f.Add([]byte(`{"do":"active","handling":-1}`))
	f.Fuzz(func(t *testing.T, line []byte) {
		b, _ := newBench(t)
		play(t, b, easyBird)
		require.NoError(t, b.Play(t.Context(), line))
		require.NoError(t, b.Play(t.Context(), line))
		_, err := b.Outcome(t.Context())
		require.NoError(t, err)
	})
}
