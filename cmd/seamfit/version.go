package main

import (
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

// version is set at link time by a release: -ldflags "-X main.version=1.2.3".
var version = ""

func (a *app) versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Say which Seamfit this is",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			v := map[string]string{"version": programVersion(), "go": runtime.Version(), "system": runtime.GOOS + "/" + runtime.GOARCH}
			if a.json() {
				return a.writeJSON(v)
			}
			return a.printf("seamfit %s (%s, %s)\n", v["version"], v["go"], v["system"])
		},
	}
}

func programVersion() string {
	if version != "" {
		return version
	}
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "unreleased"
}
