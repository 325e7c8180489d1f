package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/schema"
)

// rulesFile holds the notices of a release beside its schemas.
const rulesFile = "rules.json"

// A release is what is published of one version: schemas, code lists, notices.
type release struct {
	schemas schemas
	lists   map[string]*list
	rules   map[string]rule
}

// compare says what changed from one release to the next, gravest first.
func compare(old, now *release) Changes {
	found := compareSchemas(old.schemas, now.schemas)
	found = append(found, compareLists(old.lists, now.lists)...)
	found = append(found, compareRules(old.rules, now.rules)...)
	found.sort()
	return found
}

// read reads a release from a folder: *.schema.json, vocabulary/*.json, rules.json.
func read(folder fs.FS) (*release, error) {
	r := &release{schemas: schemas{}, lists: map[string]*list{}, rules: map[string]rule{}}
	if err := each(folder, "*.schema.json", r.schemas.add); err != nil {
		return nil, err
	}
	if err := each(folder, "vocabulary/*.json", func(text []byte) error {
		l, err := readList(text)
		if err == nil {
			r.lists[l.List] = l
		}
		return err
	}); err != nil {
		return nil, err
	}
	if err := each(folder, rulesFile, func(text []byte) error {
		var list []rule
		err := json.Unmarshal(text, &list)
		for _, one := range list {
			r.rules[one.Code] = one
		}
		return err
	}); err != nil {
		return nil, err
	}
	for id, root := range r.schemas {
		if err := whole(r.schemas, id, root); err != nil {
			return nil, fmt.Errorf("schema %s: %w", id, err)
		}
	}
	if len(r.schemas) == 0 || len(r.lists) == 0 || len(r.rules) == 0 {
		return nil, fmt.Errorf("%d schemas, %d lists and %d notices: a release has some of each", len(r.schemas), len(r.lists), len(r.rules))
	}
	return r, nil
}

// whole says whether every $ref of a schema leads somewhere.
func whole(set schemas, base string, v any) error {
	switch v := v.(type) {
	case *object:
		if ref := v.text("$ref"); ref != "" {
			if _, _, err := set.find(base, ref); err != nil {
				return fmt.Errorf("$ref %q leads nowhere", ref)
			}
		}
		for _, name := range v.names {
			if err := whole(set, base, v.members[name]); err != nil {
				return err
			}
		}
	case []any:
		for _, one := range v {
			if err := whole(set, base, one); err != nil {
				return err
			}
		}
	}
	return nil
}

func each(folder fs.FS, pattern string, use func([]byte) error) error {
	names, err := fs.Glob(folder, pattern)
	if err != nil {
		return err
	}
	for _, name := range names {
		text, err := fs.ReadFile(folder, name)
		if err == nil {
			err = use(text)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	return nil
}

// published returns the files of the release that this program was built with.
func published() (map[string][]byte, error) {
	files := map[string][]byte{}
	for _, name := range schema.Names() {
		text, ok := schema.Text(name)
		if !ok {
			return nil, fmt.Errorf("no schema %s", name)
		}
		files[name+".schema.json"] = text
	}
	names, err := fs.Glob(schema.Vocabulary, "vocabulary/*.json")
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		if files[name], err = fs.ReadFile(schema.Vocabulary, name); err != nil {
			return nil, err
		}
	}
	var rows []string
	for _, k := range pipeline.Kinds() {
		var row bytes.Buffer
		enc := json.NewEncoder(&row)
		enc.SetEscapeHTML(false)
		if err := enc.Encode(rule{Code: k.Code, Severity: k.Severity.String(), Caution: k.Caution, Spec: k.Spec, Title: k.Title}); err != nil {
			return nil, err
		}
		rows = append(rows, "  "+strings.TrimSpace(row.String()))
	}
	files[rulesFile] = []byte("[\n" + strings.Join(rows, ",\n") + "\n]\n")
	return files, nil
}

// write puts a release into a folder that is not there yet.
func write(folder string, files map[string][]byte) error {
	if _, err := os.Stat(folder); err == nil {
		return fmt.Errorf("%s is there already; a release is never written over", folder)
	}
	for name, text := range files {
		to := filepath.Join(folder, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(to, text, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// memory is the files of a release as a folder.
type memory map[string][]byte

// Open is there so that memory is an fs.FS; it serves whole files only.
func (m memory) Open(name string) (fs.File, error) {
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
}

// ReadFile returns the bytes of a file.
func (m memory) ReadFile(name string) ([]byte, error) {
	text, ok := m[name]
	if !ok {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return text, nil
}

// Glob returns the names that match a pattern.
func (m memory) Glob(pattern string) ([]string, error) {
	var names []string
	for name := range m {
		ok, err := path.Match(pattern, name)
		if err != nil {
			return nil, err
		}
		if ok {
			names = append(names, name)
		}
	}
	return names, nil
}
