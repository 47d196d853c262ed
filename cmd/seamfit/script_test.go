package main

import (
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(cleaned{m}, map[string]func(){"seamfit": main})
}

// Each script is a session at the shell with the real program.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			e.Setenv("XDG_DATA_HOME", e.WorkDir+"/data")
			e.Setenv("XDG_CONFIG_HOME", e.WorkDir+"/config")
			e.Setenv("TMPDIR", e.WorkDir+"/tmp")
			return os.MkdirAll(e.WorkDir+"/tmp", 0o700)
		},
		UpdateScripts: os.Getenv("UPDATE_SCRIPTS") != "",
	})
}
