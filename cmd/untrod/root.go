package main

import (
	"runtime/debug"

	"github.com/spf13/cobra"
)

const rootHelp = `untrod tells what ground the coil has passed over, and what it has not.
GPS tracks of a search go in; the percent swept, the gaps and a map come out.
Offline: nothing leaves this computer. Without a command it opens in your web
browser.`

const rootExample = `  untrod open

  untrod demo
  untrod cover --site site.geojson --swath 1.5m --out result walks/

  untrod new ford.gpkg --site site.geojson coil 28cm swing 1.2m
  untrod add ford.gpkg walks/
  untrod cover ford.gpkg --out result
  untrod plan ford.gpkg --hours 3 --out next`

func init() {
	cobra.EnableCommandSorting = false
	cobra.MousetrapHelpText = "" // a double click on Windows is to open the page, not to be told off
}

func newRoot(std streams) *cobra.Command {
	root := &cobra.Command{
		Use:           "untrod",
		Short:         "What ground was swept, and where the gaps are",
		Long:          rootHelp,
		Example:       rootExample,
		Version:       version(),
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          noSuchCommand,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return runOpen(cmd.Context(), openOptions{}, "", std)
		},
	}
	root.CompletionOptions.HiddenDefaultCmd = true
	root.SetOut(std.out)
	root.SetErr(std.err)
	root.SetFlagErrorFunc(flagError)
	root.SetVersionTemplate("untrod {{.Version}}\n")
	addGroup(root, "ground", "What was searched, and what next", newOpen(std), newCover(std), newPlan(std), newCompare(std),
		newSheet(std), newProve(std), newReport(std), newVerify(std), newShare(std), newDemo(std))
	addGroup(root, "book", "A book of visits", newNew(std), newAdd(std), newList(std), newFind(std), newPlace(std),
		newSet(std), newDrop(std), newUndo(std), newCheck(std), newExport(std))
	return root
}

// addGroup adds commands under a heading of the help, in the order given.
func addGroup(root *cobra.Command, id, title string, commands ...*cobra.Command) {
	root.AddGroup(&cobra.Group{ID: id, Title: title + ":"})
	for _, c := range commands {
		c.GroupID = id
		root.AddCommand(c)
	}
}

// noSuchCommand refuses words after `untrod` that name no command.
func noSuchCommand(_ *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	return hint(usagef("no command %q", args[0]),
		"untrod --help lists the commands",
		"to assess log files: untrod cover --swath 1.5m "+args[0])
}

// version is what the build knows of itself.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	v := info.Main.Version
	if v == "" || v == "(devel)" {
		v = "development"
	}
	return v + " (" + info.GoVersion + ")"
}
