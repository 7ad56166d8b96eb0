package report

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	hexa "encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// A statement's file has these members and no other. White space outside strings
// means nothing and may be changed; any other byte may not.
const (
	memberSchema    = "schema"
	memberContent   = "content"
	memberSHA256    = "sha256"
	memberSignature = "signature"
)

// SignatureDoc is an Ed25519 signature (RFC 8032) over the schema's name, a line
// feed, and the content without white space. Both values are in hex, lower case.
type SignatureDoc struct {
	Kind      string `json:"kind"` // ed25519
	PublicKey string `json:"public_key"`
	Value     string `json:"value"`
}

const signatureKind = "ed25519"

func sumOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hexa.EncodeToString(sum[:])
}

func signedText(content []byte) []byte {
	return append([]byte(StatementSchema+"\n"), content...)
}

func sign(content []byte, key ed25519.PrivateKey) *SignatureDoc {
	return &SignatureDoc{signatureKind, PublicKey(key), hexa.EncodeToString(ed25519.Sign(key, signedText(content)))}
}

// PublicKey is the public half of a key, in hex.
func PublicKey(key ed25519.PrivateKey) string {
	return hexa.EncodeToString(key.Public().(ed25519.PublicKey))
}

// good reports whether the signature is one of the content by its own key.
func (s *SignatureDoc) good(content []byte) bool {
	key, ok := lowerHex(s.PublicKey, ed25519.PublicKeySize)
	value, ok2 := lowerHex(s.Value, ed25519.SignatureSize)
	return s.Kind == signatureKind && ok && ok2 && ed25519.Verify(key, signedText(content), value)
}

func lowerHex(s string, size int) ([]byte, bool) {
	b, err := hexa.DecodeString(s)
	return b, err == nil && len(b) == size && s == strings.ToLower(s)
}

func writeEnvelope(w io.Writer, content []byte, sum string, sig *SignatureDoc) error {
	signed, err := json.Marshal(sig)
	if err != nil {
		return err
	}
	var flat, out bytes.Buffer
	fmt.Fprintf(&flat, `{%q:%q,%q:%q,%q:%s,%q:%s}`, memberSchema, StatementSchema, memberSHA256, sum, memberSignature, signed, memberContent, content)
	if err := json.Indent(&out, flat.Bytes(), "", " "); err != nil {
		return err
	}
	out.WriteByte('\n')
	_, err = w.Write(out.Bytes())
	return err
}

// ReadBack is a statement as it was read of its file.
type ReadBack struct {
	Content   StatementContent
	SHA256    string // as the file says
	Unchanged bool   // it is that of the content
	Signer    string // the public key, in hex; empty for an unsigned statement
	Signed    bool   // the signature is good for that key

	text []byte
}

// NewerError is a statement in a form that this program does not know.
type NewerError struct{ Schema string }

func (e *NewerError) Error() string {
	return fmt.Sprintf("a statement of a newer untrod (%q); this one reads %q", e.Schema, StatementSchema)
}

// ReadStatement reads the file of a statement. It fails for what is no statement, or
// has members missing, twice or too many, with a *NewerError for the form of a later
// program; a statement that was changed since is read all the same, and says so.
func ReadStatement(b []byte) (*ReadBack, error) {
	var schema string
	all, err := members(b)
	if err != nil {
		return nil, err
	}
	if json.Unmarshal(all[memberSchema], &schema) != nil || !strings.HasPrefix(schema, statementKind) {
		return nil, errors.New("not a statement")
	}
	if schema != StatementSchema {
		if n, err := strconv.Atoi(strings.TrimPrefix(schema, statementKind)); err != nil || n < 2 {
			return nil, fmt.Errorf("not a statement: schema %q", schema)
		}
		return nil, &NewerError{schema}
	}
	if got := slices.Sorted(maps.Keys(all)); !slices.Equal(got, []string{memberContent, memberSchema, memberSHA256, memberSignature}) {
		return nil, fmt.Errorf("a damaged statement: its parts are %q", got)
	}
	r := &ReadBack{}
	if err := r.content(all[memberContent], all[memberSHA256]); err != nil {
		return nil, err
	}
	return r, r.signature(all[memberSignature])
}

func (r *ReadBack) content(text, sum json.RawMessage) error {
	var flat bytes.Buffer
	if err := json.Compact(&flat, text); err != nil {
		return err
	}
	r.text = flat.Bytes()
	if err := strictly(text, &r.Content); err != nil {
		return fmt.Errorf("a damaged statement: %w", err)
	}
	if err := json.Unmarshal(sum, &r.SHA256); err != nil {
		return fmt.Errorf("a damaged statement: sha256: %w", err)
	}
	r.Unchanged = r.SHA256 == sumOf(r.text)
	return nil
}

func (r *ReadBack) signature(text json.RawMessage) error {
	if string(text) == "null" {
		return nil
	}
	all, err := members(text)
	if err != nil {
		return err
	}
	if got := slices.Sorted(maps.Keys(all)); !slices.Equal(got, []string{"kind", "public_key", "value"}) {
		return fmt.Errorf("a damaged statement: the signature's parts are %q", got)
	}
	var s SignatureDoc
	if err := strictly(text, &s); err != nil {
		return fmt.Errorf("a damaged statement: signature: %w", err)
	}
	r.Signer, r.Signed = s.PublicKey, s.good(r.text)
	return nil
}

func strictly(text []byte, to any) error {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	return d.Decode(to)
}

// members are those of a JSON object, by their names as written; twice is an error.
func members(b []byte) (map[string]json.RawMessage, error) {
	bad := func(err error) error { return fmt.Errorf("not a statement, or a damaged one: %w", err) }
	if !json.Valid(b) {
		var any json.RawMessage
		return nil, bad(json.Unmarshal(b, &any))
	}
	d := json.NewDecoder(bytes.NewReader(b))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return nil, bad(errors.New("no JSON object"))
	}
	out := map[string]json.RawMessage{}
	for d.More() {
		t, err := d.Token()
		if err != nil {
			return nil, bad(err)
		}
		var v json.RawMessage
		if err := d.Decode(&v); err != nil {
			return nil, bad(err)
		}
		name, _ := t.(string)
		if _, twice := out[name]; twice {
			return nil, bad(fmt.Errorf("%q twice", name))
		}
		out[name] = v
	}
	return out, nil
}
