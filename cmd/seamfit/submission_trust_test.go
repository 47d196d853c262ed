//go:build linux && trust

package main

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/export"
)

// handedIn returns the birds' rows in the folders of submissions, by the
// submission.
func (h *handing) handedIn() map[string]string {
	h.t.Helper()
	counterfoils, err := filepath.Glob(h.at("*/" + export.CounterfoilFile)) // not those whose name begins with a dot
	require.NoError(h.t, err)
	found := map[string]string{}
	for _, path := range counterfoils {
		if strings.HasPrefix(filepath.Base(filepath.Dir(path)), ".") {
			continue
		}
		data, err := os.ReadFile(path)
		require.NoError(h.t, err)
		var counterfoil export.Counterfoil
		require.NoError(h.t, json.Unmarshal(data, &counterfoil))
		rows, err := os.ReadFile(filepath.Join(filepath.Dir(path), "birds.csv"))
		require.NoError(h.t, err)
		require.NotContains(h.t, found, counterfoil.ID, "no submission lies in two folders")
		found[counterfoil.ID] = string(rows)
	}
	return found
}

// Killed on entering any system call that has to do with the disk, while it
// hands birds in: the runs after it hand in each bird once, and none is lost.
func TestTrustABirdIsHandedInOnceWhereverTheProgramIsKilled(t *testing.T) {
	const most = 400
	for _, call := range []string{"openat", "mkdirat", "pwrite64", "write", "fsync", "renameat", "unlinkat", "unlink", "ftruncate"} {
		t.Run(call, func(t *testing.T) {
			kills := 0
			for when := 1; when < most; when++ {
				h := newHanding(t)
				cmd := injecting(t, call, fmt.Sprintf("signal=KILL:when=%d", when),
					"export", "--as", "table", "--map", h.at("office.toml"), "--out", h.at("first"), "--mark-submitted", "--by", "A. Holm", "--db", h.at("bench.db"))
				cmd.Env = homeIn(h.home)
				err := cmd.Run()
				h.bird("Uria aalge") // what came after the crash is new
				for i := range 3 {
					if code, _, notes := h.try("export", "--as", "table", "--map", h.at("office.toml"), "--out", h.at(fmt.Sprintf("later%d", i)), "--mark-submitted", "--by", "A. Holm"); code != exitDone {
						require.Contains(t, notes, "there is nothing new or corrected to hand in")
					}
				}
				all := strings.Join(slices.Collect(maps.Values(h.handedIn())), "")
				assert.Equal(t, 1, strings.Count(all, "Larus argentatus,unbanded"), "killed at %s %d", call, when)
				assert.Equal(t, 1, strings.Count(all, "Uria aalge,unbanded"), "killed at %s %d", call, when)
				if err == nil {
					break // it came to its end before that call
				}
				kills++
			}
			t.Logf("killed at %d calls of %s", kills, call)
		})
	}
}
