package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The list of licences names exactly the modules that are linked in on any of
// the systems that a release is built for.
func TestEveryLinkedModuleHasItsLicence(t *testing.T) {
	targets, err := os.ReadFile("../../.ci/targets")
	require.NoError(t, err)
	want := map[string]bool{"std": true}
	for line := range strings.Lines(string(targets)) {
		fields := append(strings.Fields(line), "")
		cmd := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}}{{end}}{{end}}", ".")
		cmd.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS="+fields[0], "GOARCH="+fields[1], "GOARM="+fields[2])
		out, err := cmd.Output()
		require.NoError(t, err)
		for path := range strings.FieldsSeq(string(out)) {
			want[path] = true
		}
	}
	got := map[string]bool{}
	for path := range licenceOf() {
		got[path] = true
	}
	assert.Equal(t, want, got, "run .ci/licences")
}

func TestTheProgramSaysWhatItIsMadeOf(t *testing.T) {
	out, _, code := runReal(t, t.TempDir(), "version", "--format", "json")
	require.Zero(t, code)
	var said struct {
		Version string
		Modules []module
	}
	require.NoError(t, json.Unmarshal([]byte(out), &said))
	assert.NotEmpty(t, said.Version)
	assert.Greater(t, len(said.Modules), 10)
	for _, m := range said.Modules {
		assert.NotEmpty(t, m.Version, m.Module)
		assert.NotEmpty(t, m.Licence, m.Module)
	}
	out, _, code = runReal(t, t.TempDir(), "version", "--licences")
	require.Zero(t, code)
	for _, text := range []string{"Permission is hereby granted, free of charge", "Apache License", "Redistribution and use in source and binary forms"} {
		assert.Contains(t, out, text)
	}
}
