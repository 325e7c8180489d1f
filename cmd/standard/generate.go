package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// generate makes every generated file and returns the names of those that differ from what is
// there. It writes them only when asked.
func generate(root string, write bool) ([]string, error) {
	var changed []string
	put := func(name string, content []byte) error {
		path := filepath.Join(root, filepath.FromSlash(name))
		old, err := os.ReadFile(path)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		if bytes.Equal(old, content) {
			return nil
		}
		changed = append(changed, name)
		if !write {
			return nil
		}
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		return os.WriteFile(path, content, 0o644)
	}
	if err := examples(root, put); err != nil {
		return nil, fmt.Errorf("examples: %w", err)
	}
	if err := linked(put); err != nil {
		return nil, fmt.Errorf("JSON-LD context: %w", err)
	}
	if err := bundles(put); err != nil {
		return nil, fmt.Errorf("bundled schemas: %w", err)
	}
	if err := suites(root, put); err != nil {
		return nil, fmt.Errorf("conformance suite: %w", err)
	}
	if err := annexes(root, put); err != nil {
		return nil, fmt.Errorf("SPEC.md: %w", err)
	}
	return changed, nil
}
