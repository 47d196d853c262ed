package station_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// scratch holds what the whole run of tests needs once: the program itself.
type scratch struct {
	dir   string
	build func() (string, error)
}

var shared scratch

func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "seamfit-station")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	shared = scratch{dir: dir, build: sync.OnceValues(func() (string, error) {
		path := filepath.Join(dir, "seamfit")
		out, err := exec.Command("go", "build", "-o", path, "../cmd/seamfit").CombinedOutput()
		if err != nil {
			return "", fmt.Errorf("go build: %w\n%s", err, out)
		}
		return path, nil
	})}
	code := m.Run()
	if err := os.RemoveAll(dir); err != nil {
		fmt.Fprintln(os.Stderr, err)
		code = 1
	}
	os.Exit(code)
}

// program returns the path of the program, built once.
func program(t *testing.T) string {
	t.Helper()
	path, err := shared.build()
	require.NoError(t, err)
	return path
}
