package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// paperKind is a command that makes papers, with the options the page may give it.
type paperKind struct {
	command string
	options []string          // that have a value
	yes     []string          // that are there or not
	always  map[string]string // values of those that were not given
	into    bool              // the folder stands at the end, not as --out
	secret  string            // an option that is the text of a file of this name
	makes   string            // a file that a flag names, made without a book
}

// keyFile is a key to sign statements with.
const keyFile = "signing-key.pem"

var paperKinds = map[string]paperKind{
	"statement": {command: "prove", options: []string{"by", "for", "note", "date", "paper"}, yes: []string{"finds"}, secret: "key"},
	"key":       {command: "prove", makes: "new-key"},
	"sheet":     {command: "sheet", options: []string{"hours", "place", "paper", "date"}},
	"report":    {command: "report", options: []string{"hours", "date"}},
	"share":     {command: "share", yes: []string{"names", "dates", "photos"}},
	"map":       {command: "cover", yes: []string{"gis"}, always: map[string]string{"gis": "true"}},
	"book":      {command: "export", options: []string{"to"}, always: map[string]string{"to": "gpx"}, into: true},
}

// optionRunes is the most an option may say.
const optionRunes = 2000

// line is the command line for a book and a folder. Every value goes as --name=value,
// so that none can be taken for a flag, and no name is taken that is not in the table.
func (k paperKind) line(book, folder string, options map[string]json.RawMessage) ([]string, error) {
	values := map[string]string{}
	for name, v := range k.always {
		values[name] = v
	}
	for name, raw := range options {
		v, err := k.value(name, raw)
		if err != nil {
			return nil, err
		}
		values[name] = v
	}
	args := []string{k.command}
	if k.makes != "" {
		return append(args, "--"+k.makes+"="+filepath.Join(folder, keyFile)), nil
	}
	for _, name := range slices.Concat(k.options, k.yes) {
		if v := values[name]; v != "" {
			args = append(args, "--"+name+"="+v)
		}
	}
	if text := values[k.secret]; text != "" {
		path := filepath.Join(filepath.Dir(folder), keyFile) // beside the papers, not among them
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			return nil, fmt.Errorf("no room for the key: %w", err)
		}
		args = append(args, "--"+k.secret+"="+path)
	}
	if k.into {
		return append(args, "--", book, folder), nil
	}
	return append(args, "--out="+folder, "--", book), nil
}

// value is what an option says, "" for nothing.
func (k paperKind) value(name string, raw json.RawMessage) (string, error) {
	yes := slices.Contains(k.yes, name)
	if !yes && !slices.Contains(k.options, name) && (name == "" || name != k.secret) {
		return "", refuse(http.StatusBadRequest, fmt.Sprintf("there is no option %q for this paper", name))
	}
	var v any
	if err := json.Unmarshal(raw, &v); err != nil {
		return "", refuse(http.StatusBadRequest, "not understood: "+err.Error())
	}
	switch v := v.(type) {
	case nil:
		return "", nil
	case bool:
		if yes {
			return strconv.FormatBool(v), nil
		}
	case float64:
		if !yes {
			return strconv.FormatFloat(v, 'f', -1, 64), nil
		}
	case string:
		if !yes && len([]rune(v)) <= optionRunes && !strings.ContainsFunc(v, oddInText) {
			return v, nil
		}
	}
	return "", refuse(http.StatusBadRequest, fmt.Sprintf("the option %q cannot be %s", name, shortened(string(raw), 60)))
}

func oddInText(r rune) bool {
	return unicode.IsControl(r) && r != '\n' && r != '\t' || r == unicode.ReplacementChar
}

func shortened(text string, runes int) string {
	if all := []rune(text); len(all) > runes {
		return string(all[:runes]) + " ..."
	}
	return text
}
