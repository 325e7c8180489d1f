// Package release compares two versions of what is published - schemas, code lists, codes of notices,
// the JSON-LD context, vectors - and says of every change whether it is breaking, compatible or
// documentation. SPEC.md section 10 has the table.
package release

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/schema"
)

// rulesFile holds the notices of a release beside its schemas.
const rulesFile = "rules.json"

// contextFile is the JSON-LD context of a release.
const contextFile = "context.jsonld"

// A Release is what is published of one version: schemas, code lists, notices, the JSON-LD context,
// the ids of the vectors.
type Release struct {
	schemas schemas
	lists   map[string]*list
	rules   map[string]rule
	terms   map[string]string // of the context: where a term stands, to what it says
	vectors map[string]vector
}

// Compare says what changed from one release to the next, gravest first.
func Compare(old, now *Release) Changes {
	found := compareSchemas(old.schemas, now.schemas)
	found = append(found, compareLists(old.lists, now.lists)...)
	found = append(found, compareRules(old.rules, now.rules)...)
	found = append(found, compareTerms(old.terms, now.terms)...)
	found = append(found, compareVectors(old.vectors, now.vectors)...)
	found.sort()
	return found
}

// Read reads a release that is whole: a schema, a list, a notice and a context are there.
func Read(folder fs.FS) (*Release, error) {
	r, err := ReadPart(folder)
	if err != nil {
		return nil, err
	}
	if len(r.schemas) == 0 || len(r.lists) == 0 || len(r.rules) == 0 || len(r.terms) == 0 {
		return nil, fmt.Errorf("%d schemas, %d lists, %d notices and %d terms of the context: a release has some of each", len(r.schemas), len(r.lists), len(r.rules), len(r.terms))
	}
	return r, nil
}

// ReadPart reads what there is of a release in a folder: *.schema.json, vocabulary/*.json, rules.json,
// context.jsonld, vectors.json.
func ReadPart(folder fs.FS) (*Release, error) {
	r := &Release{schemas: schemas{}, lists: map[string]*list{}, rules: map[string]rule{}, terms: map[string]string{}, vectors: map[string]vector{}}
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
	if err := each(folder, contextFile, func(text []byte) error {
		terms, err := readTerms(text)
		r.terms = terms
		return err
	}); err != nil {
		return nil, err
	}
	if err := each(folder, vectorsFile, func(text []byte) error {
		var list []vector
		err := json.Unmarshal(text, &list)
		for _, one := range list {
			r.vectors[one.ID] = one
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

// Published returns the files of the release that this program was built with, and of a project the
// ids of its vectors.
func Published(project fs.FS) (Files, error) {
	files := Files{contextFile: schema.Context()}
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
	if files[vectorsFile], err = vectorRows(project); err != nil {
		return nil, err
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

// Draft is the name of the file that says of a kept release that it is not out yet.
const Draft = "draft"

// Keep puts a release into a folder. One that is there is kept anew only while it has the file draft;
// without it the release is out, and is never written over.
func (f Files) Keep(folder string) error {
	entries, err := os.ReadDir(folder)
	if err != nil && !os.IsNotExist(err) {
		return err
	}
	draft := slices.ContainsFunc(entries, func(e fs.DirEntry) bool { return e.Name() == Draft })
	if len(entries) > 0 {
		if !draft {
			return fmt.Errorf("%s is there already and is no draft; a release is never written over", folder)
		}
		old, err := filepath.Glob(filepath.Join(folder, "vocabulary", "*.json"))
		if err != nil {
			return err
		}
		for _, name := range old { // a list that is no more
			if _, there := f["vocabulary/"+filepath.Base(name)]; !there {
				if err := os.Remove(name); err != nil {
					return err
				}
			}
		}
	}
	for name, text := range f {
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

// Files are the files of a release by name; as a folder they serve whole files only.
type Files map[string][]byte

// Open is there so that Files is an fs.FS.
func (f Files) Open(name string) (fs.File, error) {
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
}

// ReadFile returns the bytes of a file.
func (f Files) ReadFile(name string) ([]byte, error) {
	text, ok := f[name]
	if !ok {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return text, nil
}

// Glob returns the names that match a pattern.
func (f Files) Glob(pattern string) ([]string, error) {
	var names []string
	for name := range f {
		ok, err := path.Match(pattern, name)
		if err != nil {
			return nil, err
		}
		if ok {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names, nil
}
