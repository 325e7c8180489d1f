// Package release compares two versions of what is published - schemas, code lists, codes of notices,
// the JSON-LD context, vectors - and reports of every change whether it is breaking, compatible or
// documentation. SPEC.md section 10 has the table.
//
// Each version is laid out as facts: at a place (find/depth/min), under an aspect (maximum), stands a
// value. Two versions are then compared fact by fact.
package release

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/findslip/findslip/cmd/internal/suite"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/schema"
)

// Names of files that are not a schema or a code list.
const (
	rulesFile   = "rules.json"     // the notices
	contextFile = "context.jsonld" // the JSON-LD context
	vectorsFile = "vectors.json"   // the vectors of the conformance suite
	schemaEnd   = ".schema.json"   // NAME.schema.json
	listFolder  = "vocabulary/"    // vocabulary/NAME.json
)

// Files are the files of a version by name.
type Files map[string][]byte

// Read reads the files of a version that was kept in a folder.
func Read(folder fs.FS) (Files, error) {
	files := Files{}
	for _, pattern := range []string{"*" + schemaEnd, listFolder + "*.json", rulesFile, contextFile, vectorsFile} {
		names, err := fs.Glob(folder, pattern)
		if err != nil {
			return nil, err
		}
		if len(names) == 0 {
			return nil, fmt.Errorf("a version has %s", pattern)
		}
		for _, name := range names {
			if files[name], err = fs.ReadFile(folder, name); err != nil {
				return nil, err
			}
		}
	}
	return files, nil
}

// Published returns the files of the version that this program was built with, and of a project the
// ids of its vectors.
func Published(project fs.FS) (Files, error) {
	files := Files{contextFile: schema.Context()}
	for _, name := range schema.Names() {
		text, ok := schema.Text(name)
		if !ok {
			return nil, fmt.Errorf("no schema %s", name)
		}
		files[name+schemaEnd] = text
	}
	names, err := fs.Glob(schema.Vocabulary, listFolder+"*.json")
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		if files[name], err = fs.ReadFile(schema.Vocabulary, name); err != nil {
			return nil, err
		}
	}
	var rules []any
	for _, k := range pipeline.Kinds() {
		rules = append(rules, rule{Code: k.Code, Severity: k.Severity.String(), Caution: k.Caution, Spec: k.Spec,
			Title: k.Title})
	}
	if files[rulesFile], err = rows(rules); err != nil {
		return nil, err
	}
	all, err := suite.Load(project)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(all, func(a, b *suite.Vector) int { return strings.Compare(a.ID, b.ID) })
	var vectors []any
	for _, v := range all {
		vectors = append(vectors, vector{v.ID, v.Folder, v.Operation, v.Outcome, v.Requirements})
	}
	files[vectorsFile], err = rows(vectors)
	return files, err
}

// rows writes a list with an item a line.
func rows(list []any) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("[")
	for i, item := range list {
		var row bytes.Buffer
		enc := json.NewEncoder(&row)
		enc.SetEscapeHTML(false)
		if err := enc.Encode(item); err != nil {
			return nil, err
		}
		if i > 0 {
			b.WriteString(",")
		}
		b.WriteString("\n  " + strings.TrimSpace(row.String()))
	}
	b.WriteString("\n]\n")
	return b.Bytes(), nil
}

// Keep puts a version into a new folder. A kept version is never written over.
func (f Files) Keep(folder string) error {
	if _, err := os.Lstat(folder); err == nil {
		return fmt.Errorf("%s is there already; a version that was kept is never written over", folder)
	}
	for _, name := range slices.Sorted(maps.Keys(f)) {
		to := filepath.Join(folder, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(to, f[name], 0o644); err != nil {
			return err
		}
	}
	return nil
}
