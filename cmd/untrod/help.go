package main

import (
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

const helpWidth = 80

// flagGroup is the flags about one thing, under its heading in the help.
type flagGroup struct {
	title string
	flags *pflag.FlagSet
}

// newFlagSet keeps its flags in the order they are added.
func newFlagSet() *pflag.FlagSet {
	f := pflag.NewFlagSet("", pflag.ContinueOnError)
	f.SortFlags = false
	return f
}

// useGroups gives cmd the flags of the groups, and help that keeps them apart.
func useGroups(cmd *cobra.Command, groups []flagGroup) {
	for _, g := range groups {
		cmd.Flags().AddFlagSet(g.flags)
	}
	cmd.SetUsageFunc(func(c *cobra.Command) error {
		w := c.OutOrStderr()
		fmt.Fprintf(w, "Usage:\n  %s\n\nExamples:\n%s\n", c.UseLine(), c.Example)
		for _, g := range groups {
			fmt.Fprintf(w, "\n%s:\n%s", g.title, g.flags.FlagUsagesWrapped(helpWidth))
		}
		fmt.Fprintf(w, "\n%s\n", exitHelp)
		return nil
	})
}
