package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// leaf is one value of a JSON document and the way to it.
type leaf struct {
	path  string // such as summary.sessions[3].fixes
	value string // as written; {} and [] for what is empty
}

// leaves are the values of a JSON document in their order.
func leaves(text []byte) ([]leaf, error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	var out []leaf
	err := walkJSON(d, "", &out)
	return out, err
}

func walkJSON(d *json.Decoder, path string, out *[]leaf) error {
	t, err := d.Token()
	if err != nil {
		return err
	}
	open, nested := t.(json.Delim)
	if !nested {
		value, err := json.Marshal(t)
		*out = append(*out, leaf{path, string(value)})
		return err
	}
	i := 0
	for ; d.More(); i++ {
		next := fmt.Sprintf("%s[%d]", path, i)
		if open == '{' {
			name, err := d.Token()
			if err != nil {
				return err
			}
			next = strings.TrimPrefix(fmt.Sprintf("%s.%v", path, name), ".")
		}
		if err := walkJSON(d, next, out); err != nil {
			return err
		}
	}
	if i == 0 {
		*out = append(*out, leaf{path, map[json.Delim]string{'{': "{}", '[': "[]"}[open]})
	}
	_, err = d.Token()
	return err
}

// Differences tells where a content that was worked out again is not that of the
// statement, a line for each value, in the statement's order; none when all is
// the same to the last digit.
func (r *ReadBack) Differences(again StatementContent) ([]string, error) {
	text, err := again.JSON()
	if err != nil {
		return nil, err
	}
	stated, err := leaves(r.text)
	if err != nil {
		return nil, err
	}
	found, err := leaves(text)
	if err != nil {
		return nil, err
	}
	return differ(stated, found), nil
}

func differ(stated, found []leaf) []string {
	now := map[string]string{}
	for _, l := range found {
		now[l.path] = l.value
	}
	var out []string
	for _, l := range stated {
		v, ok := now[l.path]
		delete(now, l.path)
		switch {
		case !ok:
			out = append(out, fmt.Sprintf("%s: stated %s, not there now", l.path, shownValue(l.value)))
		case v != l.value:
			out = append(out, fmt.Sprintf("%s: stated %s, now %s", l.path, shownValue(l.value), shownValue(v)))
		}
	}
	var more []string
	for path, v := range now {
		more = append(more, fmt.Sprintf("%s: not stated, now %s", path, shownValue(v)))
	}
	slices.Sort(more)
	return append(out, more...)
}

// shownValue keeps a value on one line of a terminal.
func shownValue(v string) string { return cutTo(Printable(v), 80) }
