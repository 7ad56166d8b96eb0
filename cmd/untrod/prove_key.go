package main

import (
	"crypto/ed25519"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"untrod/report"
)

// makeKey makes a key to sign with in a new file, which only its owner can read.
func makeKey(path string, std streams) (err error) {
	_, key, err := ed25519.GenerateKey(nil)
	if err != nil {
		return err
	}
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return hint(usagef("--new-key %q: the file is there already", path), "a key that is lost cannot be made again: name another file")
	}
	if err != nil {
		return fmt.Errorf("--new-key %q: %w", path, plainFileError(err))
	}
	err = pem.Encode(f, &pem.Block{Type: "PRIVATE KEY", Bytes: der})
	if err = errors.Join(err, f.Close()); err != nil {
		os.Remove(path)
		return fmt.Errorf("--new-key %q: %w", path, err)
	}
	fmt.Fprintf(std.out, `Made %s. Keep it secret, and keep a copy: whoever has it signs in your name.

Its public half, to give to those who are to know your statements:
  %s
`, path, report.PublicKey(key))
	return nil
}

// readKey reads an Ed25519 private key: PEM with PKCS #8 in it (RFC 8410).
func readKey(path string) (ed25519.PrivateKey, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("--key %q: %w", path, plainFileError(err))
	}
	bad := func(why string) error {
		return hint(usagef("--key %q: %s", path, why), "a key is made by: "+self()+" prove --new-key club.key")
	}
	block, _ := pem.Decode(text)
	if block == nil || block.Type != "PRIVATE KEY" {
		return nil, bad("no private key in PEM form")
	}
	any, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil, bad("a damaged private key")
	}
	key, ok := any.(ed25519.PrivateKey)
	if !ok {
		return nil, bad("a private key, but not for Ed25519")
	}
	return key, nil
}
