package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"untrod/site/book"
)

const setHelp = `set keeps settings in the book, by the names they have as flags: every later
command on the book takes them, unless its own flags say otherwise. A site file
replaces the outline, keep-outs and landmarks. The value "default" takes a
setting out; without any, the settings are listed.`

const setExample = `  untrod set ford.gpkg coil 28cm swing 1.2m canopy dense
  untrod set ford.gpkg laid-out 'second visit'
  untrod set ford.gpkg without 'first try'
  untrod set ford.gpkg canopy default
  untrod set ford.gpkg --site outline.geojson`

func newSet(std streams) *cobra.Command {
	var sitePath string
	f := newFlagSet()
	f.StringVar(&sitePath, "site", "", "`file` whose outline, keep-outs and landmarks replace those of the book")
	cmd := &cobra.Command{
		Use:     "set BOOK [NAME VALUE]...",
		Short:   "Keep settings in a book",
		Long:    setHelp,
		Example: setExample,
		Args:    bookAnd("the settings, such as coil 28cm", -1),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 && sitePath == "" {
				return listSettings(args[0], std)
			}
			return changeBook(args[0], func(b *book.Book) error { return setAll(b, args[1:], sitePath, std) })
		},
	}
	useGroups(cmd, []flagGroup{{"The job", f}})
	return cmd
}

func listSettings(path string, std streams) error {
	return viewBook(path, func(b *book.Book) error {
		says, err := b.Settings()
		if err != nil {
			return err
		}
		if len(says) == 0 {
			fmt.Fprintf(std.out, "No settings in the book: every command takes its defaults.\n")
			return nil
		}
		printSettings(std, says)
		return nil
	})
}

func printSettings(std streams, says map[string]string) {
	w := tabwriter.NewWriter(std.out, 0, 0, 3, ' ', 0)
	for _, name := range slices.Sorted(maps.Keys(says)) {
		fmt.Fprintf(w, "  %s\t%s\n", name, strings.ReplaceAll(says[name], "\n", ", "))
	}
	w.Flush()
}

// setAll carries out `set`: all of it, or none.
func setAll(b *book.Book, words []string, sitePath string, std streams) error {
	if len(words)%2 == 1 {
		return hint(usagef("%q has no value", words[len(words)-1]), "settings go in pairs: coil 28cm swing 1.2m")
	}
	s, err := readSite(sitePath)
	if err != nil {
		return err
	}
	says, err := b.Settings()
	if err != nil {
		return err
	}
	before := maps.Clone(says)
	if err := mergeSettings(says, words); err != nil {
		return err
	}
	if says["without"] != before["without"] {
		if err := checkWithout(b, says["without"]); err != nil {
			return err
		}
	}
	if err := b.Begin("set " + strings.TrimSpace(strings.Join(append(words, sitePath), " "))); err != nil {
		return err
	}
	if s != nil {
		if err := b.SetSite(s); err != nil {
			return err
		}
		fmt.Fprintf(std.out, "The outline is now that of %s.\n", sitePath)
	}
	if err := storeSettings(b, before, says); err != nil || len(words) == 0 {
		return err
	}
	fmt.Fprintln(std.out, "The book says:")
	printSettings(std, says)
	return nil
}

func storeSettings(b *book.Book, before, after map[string]string) error {
	for name := range before {
		if _, ok := after[name]; !ok {
			if err := b.Set(name, ""); err != nil {
				return err
			}
		}
	}
	for name, text := range after {
		if before[name] != text {
			if err := b.Set(name, text); err != nil {
				return err
			}
		}
	}
	return nil
}

// mergeSettings puts pairs of names and values into what a book says, and refuses
// what the commands would refuse. One way of saying a thing drives out the other.
func mergeSettings(says map[string]string, words []string) error {
	lists := map[string]bool{}
	for i := 0; i+1 < len(words); i += 2 {
		name, text := strings.TrimPrefix(words[i], "--"), words[i+1]
		f := newCoverOptions(usualCanopy).setting(name)
		if f == nil {
			return hint(usagef("no setting %q", name), "the settings are "+strings.Join(settingNames(), ", "))
		}
		if text == "default" {
			delete(says, name)
			continue
		}
		if err := f.Value.Set(text); err != nil {
			return usagef("%s %q: %w", name, text, err)
		}
		driveOut(says, name)
		if _, list := f.Value.(pflag.SliceValue); list && lists[name] {
			text = says[name] + "\n" + text
		}
		says[name], lists[name] = text, true
	}
	return tryOut(says)
}

func driveOut(says map[string]string, name string) {
	for _, r := range rivals {
		if !slices.Contains(r.these, name) {
			continue
		}
		for _, other := range r.those {
			if !slices.Contains(r.these, other) {
				delete(says, other)
			}
		}
	}
}

// tryOut makes settings of what a book says; a swath that is not there yet may
// come later.
func tryOut(says map[string]string) error {
	full := maps.Clone(says)
	has := func(name string) bool { _, ok := full[name]; return ok }
	switch {
	case has("swath"):
	case has("coil") && !has("swing"):
		full["swing"] = "1m"
	case has("swing") && !has("coil"):
		full["coil"] = "28cm"
	case !has("coil"):
		full["coil"], full["swing"] = "28cm", "1m"
	}
	o := newCoverOptions(usualCanopy)
	if err := o.adopt(full); err != nil {
		return err
	}
	if _, err := o.reportUnits(); err != nil {
		return err
	}
	_, err := o.settings()
	return err
}

// setting is the flag of that name, nil when a book cannot hold it.
func (o *coverOptions) setting(name string) (found *pflag.Flag) {
	o.eachSetting(func(f *pflag.Flag) {
		if f.Name == name {
			found = f
		}
	})
	return found
}

func settingNames() (names []string) {
	newCoverOptions(usualCanopy).eachSetting(func(f *pflag.Flag) { names = append(names, f.Name) })
	return names
}
