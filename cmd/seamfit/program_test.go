package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// built is the program as it is shipped, made once for the tests that need a
// process of its own.
type built struct {
	dir  string
	path func() (string, error)
}

var shipped = newBuilt()

func newBuilt() *built {
	b := &built{}
	b.path = sync.OnceValues(func() (string, error) {
		dir, err := os.MkdirTemp("", "seamfit-program")
		if err != nil {
			return "", err
		}
		b.dir = dir
		path := filepath.Join(dir, "seamfit")
		cmd := exec.Command("go", "build", "-o", path, ".")
		cmd.Env = append(os.Environ(), "CGO_ENABLED=0")
		if out, err := cmd.CombinedOutput(); err != nil {
			return "", fmt.Errorf("go build: %w\n%s", err, out)
		}
		return path, nil
	})
	return b
}

// cleaned removes what was built when the tests are over.
type cleaned struct{ m *testing.M }

// Run runs the tests.
func (c cleaned) Run() int {
	code := c.m.Run()
	if shipped.dir == "" {
		return code
	}
	if err := os.RemoveAll(shipped.dir); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return code
}

func realProgram(t testing.TB) string {
	t.Helper()
	path, err := shipped.path()
	require.NoError(t, err)
	return path
}

// homeIn is an environment in which the program finds nothing of its user's.
func homeIn(dir string, more ...string) []string {
	env := []string{"HOME=" + dir, "XDG_DATA_HOME=" + dir, "XDG_CONFIG_HOME=" + dir, "TMPDIR=" + dir, "LANG=C.UTF-8", "PATH=" + os.Getenv("PATH")}
	return append(env, more...)
}

// runReal runs the real program to its end and returns what it wrote.
func runReal(t testing.TB, dir string, args ...string) (stdout, stderr string, code int) {
	t.Helper()
	cmd := exec.Command(realProgram(t), args...)
	cmd.Dir, cmd.Env = dir, homeIn(dir)
	var out, errs strings.Builder
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil {
		var exit *exec.ExitError
		require.ErrorAs(t, err, &exit)
	}
	return out.String(), errs.String(), cmd.ProcessState.ExitCode()
}
