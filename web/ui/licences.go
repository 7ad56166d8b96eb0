package main

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// writeLicences writes the licences of the packages that gave something to the bundle.
func writeLicences(metafile string) error {
	names, err := bundled(metafile)
	if err != nil {
		return err
	}
	var b strings.Builder
	b.WriteString("page.js and page.css of untrod contain code of these packages.\n")
	for _, name := range names {
		text, err := licence(name)
		if err != nil {
			return err
		}
		b.WriteString(text)
	}
	return os.WriteFile(filepath.Join(out, "LICENSES.txt"), []byte(b.String()), 0o644)
}

// bundled lists the packages of which some code is left in the outputs.
func bundled(metafile string) ([]string, error) {
	var meta struct {
		Outputs map[string]struct {
			Inputs map[string]struct {
				BytesInOutput int `json:"bytesInOutput"`
			} `json:"inputs"`
		} `json:"outputs"`
	}
	if err := json.Unmarshal([]byte(metafile), &meta); err != nil {
		return nil, err
	}
	seen := map[string]bool{}
	for _, o := range meta.Outputs {
		for path, in := range o.Inputs {
			if name := packageOf(path); name != "" && in.BytesInOutput > 0 {
				seen[name] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(seen)), nil
}

// packageOf names the package a bundled file is from, "" when it is ours.
func packageOf(path string) string {
	i := strings.LastIndex(path, "node_modules/")
	if i < 0 {
		return ""
	}
	parts := strings.SplitN(path[i+len("node_modules/"):], "/", 3)
	if strings.HasPrefix(parts[0], "@") {
		return parts[0] + "/" + parts[1]
	}
	return parts[0]
}

// licence is the text of a package's licence under its name and version.
func licence(name string) (string, error) {
	dir := filepath.Join("node_modules", filepath.FromSlash(name))
	text, err := os.ReadFile(filepath.Join(dir, "package.json"))
	if err != nil {
		return "", err
	}
	var is struct{ Version, License string }
	if err := json.Unmarshal(text, &is); err != nil {
		return "", fmt.Errorf("%s: %w", name, err)
	}
	files, err := os.ReadDir(dir)
	if err != nil {
		return "", err
	}
	for _, f := range files {
		if strings.HasPrefix(strings.ToLower(f.Name()), "licen") {
			text, err := os.ReadFile(filepath.Join(dir, f.Name()))
			return fmt.Sprintf("\n== %s %s (%s)\n\n%s\n", name, is.Version, is.License, strings.TrimSpace(string(text))), err
		}
	}
	return "", fmt.Errorf("%s: has no licence file", name)
}
