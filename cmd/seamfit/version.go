package main

import (
	_ "embed"
	"runtime"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"
)

// version is set at link time by a release: -ldflags "-X main.version=1.2.3".
var version = ""

// licences holds the licences of what is linked in, each under a line
// "== NAME MODULE…"; .ci/licences writes it.
//
//go:embed licences.txt
var licences string

// module is a part of the program that others wrote.
type module struct {
	Module  string `json:"module"`
	Version string `json:"version"`
	Licence string `json:"licence"` // by its SPDX name
}

func (a *app) versionCommand() *cobra.Command {
	var texts bool
	cmd := &cobra.Command{
		Use:   "version",
		Short: "Say which Seamfit this is, and what it is made of",
		Long: `Say which Seamfit this is, and of which modules it is made, with their licences;
with --licences, the text of each.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if texts {
				return a.printLicences()
			}
			return a.printVersion()
		},
	}
	cmd.Flags().BoolVar(&texts, "licences", false, "print the text of every licence")
	return cmd
}

func (a *app) printVersion() error {
	system := runtime.GOOS + "/" + runtime.GOARCH
	if a.json() {
		return a.writeJSON(struct {
			Version string   `json:"version"`
			Go      string   `json:"go"`
			System  string   `json:"system"`
			Modules []module `json:"modules"`
		}{programVersion(), runtime.Version(), system, linked()})
	}
	if err := a.printf("seamfit %s (%s, %s)\n", programVersion(), runtime.Version(), system); err != nil {
		return err
	}
	for _, m := range linked() {
		if err := a.printf("%-36s %-42s %s\n", m.Module, m.Version, m.Licence); err != nil {
			return err
		}
	}
	return nil
}

func (a *app) printLicences() error {
	for line := range strings.Lines(licences) {
		if err := a.printf("%s\n", strings.TrimSuffix(line, "\n")); err != nil {
			return err
		}
	}
	return nil
}

// licenceOf returns the licence of each module, by its path.
func licenceOf() map[string]string {
	of := map[string]string{}
	for line := range strings.Lines(licences) {
		head, ok := strings.CutPrefix(line, "== ")
		if !ok {
			continue
		}
		fields := strings.Fields(head)
		for _, path := range fields[1:] {
			of[path] = fields[0]
		}
	}
	return of
}

// linked lists what this program was linked from.
func linked() []module {
	of := licenceOf()
	modules := []module{{"std", runtime.Version(), of["std"]}}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return modules
	}
	for _, d := range info.Deps {
		modules = append(modules, module{d.Path, d.Version, of[d.Path]})
	}
	return modules
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
