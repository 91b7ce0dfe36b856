package main

import (
	_ "embed"
	"fmt"
	"io"
	"runtime"
	"runtime/debug"
	"time"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/colorimg"
)

// version is that of the program, as "hueward version" and the report say it.
const version = "0.1.0"

// licences are those of all that is inside a built hueward.
//
//go:generate go run -C ../.. ./cmd/licences cmd/hueward/licences.txt
//go:embed licences.txt
var licences string

func (a *app) versionCommand() *cobra.Command {
	var all bool
	cmd := &cobra.Command{
		Use:   "version",
		Short: "Say which version this is; print the licences",
		Long: `Say which version of hueward this is, which version of its way of measuring, and
which commit it was built from, and when.

The decoder for HEIC photos, libheif and libde265, is under the GNU Lesser General
Public License: --licences says where its source is and how to use another build.` + cli.ExitStatuses(""),
		Example: `  hueward version
  hueward version --licences`,
		RunE: a.Do(func(*cobra.Command, []string) error {
			if all {
				_, err := io.WriteString(a.Stdout, licences)
				return err
			}
			info, _ := debug.ReadBuildInfo()
			_, err := fmt.Fprintf(a.Stdout, "hueward %s (measuring method %d, %s %s/%s)\n%s\n",
				version, colorimg.Method, runtime.Version(), runtime.GOOS, runtime.GOARCH, commit(info))
			return err
		}),
	}
	cmd.Flags().BoolVar(&all, "licences", false, "print the licences of all that is in it")
	return cmd
}

// commit says of which commit a program was built; info may be nil.
func commit(info *debug.BuildInfo) string {
	if info == nil {
		return "commit not known"
	}
	set := map[string]string{}
	for _, s := range info.Settings {
		set[s.Key] = s.Value
	}
	if len(set["vcs.revision"]) < 12 {
		if v := info.Main.Version; v != "" && v != "(devel)" {
			return "module version " + v
		}
		return "commit not known: built outside a clone of its source"
	}
	text := "commit " + set["vcs.revision"][:12]
	if t, err := time.Parse(time.RFC3339, set["vcs.time"]); err == nil {
		text += " of " + t.UTC().Format("2006-01-02 15:04 UTC")
	}
	if set["vcs.modified"] == "true" {
		text += ", with changes that are not committed"
	}
	return text
}
