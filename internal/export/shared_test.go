//go:build shared

package export_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/export"
)

// read has an independent reader, the npm package datapackage, read a package
// with all types and links. NODE_PATH says where it is installed.
func read(t *testing.T, folder string) string {
	t.Helper()
	out, err := exec.CommandContext(t.Context(), "node", filepath.Join(os.Getenv("SEAMFIT_SHARED"), "standards/datapackage/check.js"), folder).CombinedOutput()
	require.NoError(t, err, string(out))
	return string(out)
}

func TestSharedReaderFindsThePackageValid(t *testing.T) {
	if os.Getenv("NODE_PATH") == "" {
		t.Fatal("set NODE_PATH to a folder in which datapackage@1.1.10 is installed")
	}
	w := story(t, false)
	out := filepath.Join(t.TempDir(), "package")
	require.NoError(t, w.export(bench.Selection{}, export.DataPackage, out))
	said := read(t, out)
	assert.Contains(t, said, out+" VALID []", said)
	for _, table := range export.Tables() {
		_, rows := readCSV(t, filepath.Join(out, table.Name+".csv"))
		require.NotEmpty(t, rows)
		assert.Contains(t, said, " "+table.Name+" rows ")
	}

	// A band that no row has.
	path := filepath.Join(out, "closings.csv")
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	lines := strings.Split(string(data), "\r\n")
	fields := strings.SplitN(lines[1], ",", 4)
	fields[2] = "99"
	lines[1] = strings.Join(fields, ",")
	require.NoError(t, os.WriteFile(path, []byte(strings.Join(lines, "\r\n")), 0o600))
	said = read(t, out)
	assert.Contains(t, said, " INVALID ")
	assert.Contains(t, said, `closings: Foreign key "handling,band" violation`)
}
