package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

// revision is set by the linker where the build knows no version control, as in a
// container: -ldflags "-X main.revision=…".
var revision string

// built is the version and the revision that the build says of itself.
func built() (v, rev string) {
	v, rev = "devel", revision
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return v, rev
	}
	if m := info.Main.Version; m != "" && m != "(devel)" {
		v = m
	}
	changed := false
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			if rev == "" {
				rev = s.Value
			}
		case "vcs.modified":
			changed = s.Value == "true"
		}
	}
	if len(rev) > 12 {
		rev = rev[:12]
	}
	if rev != "" && changed {
		rev += "+changes"
	}
	return v, rev
}

// version is the version and the revision in one line.
func version() string {
	v, rev := built()
	if rev == "" {
		return v
	}
	return v + " " + rev
}

func versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Say which version this is",
		Long:  "Version says which version and revision this is, and what it was built with. A revision with +changes was built from\nfiles that were not committed.",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := fmt.Fprintf(cmd.OutOrStdout(), "sidewall %s (%s %s/%s)\n", version(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
			return err
		},
	}
}
