// Package schemacheck judges JSON texts by the published schemas: first whether every reader takes the text
// the same way (the gate), then what the schema has against it, then which members it does not know.
//
// The schema engine (jsonschema v5) is the authority and has the words. It is asked only where a small program
// made of the same schema does not say yes (fast.go): without the program, checking JSON Lines takes
// 11.7 times the processor time. The program says yes to nothing that the engine refuses; tests hold it to that.
//
// This package is unstable: it may change between any two versions.
package schemacheck

import (
	"bytes"
	"fmt"
	"io"
	"sync"

	"github.com/go-json-experiment/json"
	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/internal/tape"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/schema"
)

// Schemas judges JSON texts by the published schemas. It is safe for concurrent use. Its zero value
// is not usable; New makes one.
type Schemas struct {
	slow   bool // sends every record to the schema engine, also those that the quick program says yes to
	depth  int  // objects and lists within each other; 0: 64
	byName map[string]*engine
}

// New returns the published schemas, ready to judge. They are read at the first call,
// compiled when the first text needs it, and shared by all later calls. Nothing is ever fetched.
func New() (*Schemas, error) { return sharedSchemas() }

var sharedSchemas = sync.OnceValues(func() (*Schemas, error) {
	var texts [][]byte
	for _, name := range schema.Names() {
		text, _ := schema.Text(name)
		texts = append(texts, text)
	}
	engines, err := newEngines(texts...)
	if err != nil {
		return nil, err
	}
	s := &Schemas{byName: map[string]*engine{}}
	for _, name := range schema.Names() {
		s.byName[name] = engines[schema.ID(name)]
	}
	return s, nil
})

// SchemaError is one thing that the schema has against a JSON text.
type SchemaError struct {
	Pointer    string // JSON Pointer in the text that was judged
	Keyword    string // of JSON Schema: type, required, ...
	SchemaPath string // identifier of the schema, # and the JSON Pointer of the keyword
	Message    string // what was found and what was expected; quotes no private value
	Help       string // what to type instead; empty where the kind's own help says it
	Code       string // code of the notice
}

// Notice returns the error as a notice of its kind.
func (e SchemaError) Notice() notice.Notice {
	n := notice.New(kinds.Named(e.Code), e.Pointer, e.Message)
	n.Help = e.Help
	return n
}

// Document judges a text by the schema with the short name: report, find or notices. The errors come
// sorted by pointer and keyword, the same on every run; none means that the text is valid. A text that
// is no JSON which every reader takes the same way is a *GateError. Of a report the finds may be missing
// or empty; those that are there are judged too. The size of the text is not limited here; that is for
// whoever read it.
func (s *Schemas) Document(raw []byte, name string) ([]SchemaError, error) {
	e, ok := s.byName[name]
	if !ok {
		return nil, fmt.Errorf("no schema is called %q", name)
	}
	if refused := gate(raw, gateLimits{RecordBytes: -1, Depth: s.depth}); refused != nil {
		return nil, refused
	}
	var value any
	if err := json.Unmarshal(raw, &value); err != nil {
		return nil, fmt.Errorf("reading the record: %w", err)
	}
	return e.judge(value)
}

// Notices returns everything that the gate and the schema have to say of a text, unknown members
// included, sorted. The name is report or find, as for Document.
func (s *Schemas) Notices(raw []byte, name string) notice.List {
	e, ok := s.byName[name]
	if !ok {
		return notice.List{notice.New(&kinds.SchemaOther, "", fmt.Sprintf("no schema is called %q", name))}
	}
	if !s.slow && !s.shallow() && e.quickly(raw) {
		return nil
	}
	if refused := gate(raw, gateLimits{RecordBytes: -1, Depth: s.depth}); refused != nil {
		return notice.List{refused.Notice()}
	}
	var value any
	if err := json.Unmarshal(raw, &value); err != nil {
		return notice.List{notice.New(&kinds.SchemaOther, "", "the record cannot be read: "+err.Error())}
	}
	var list notice.List
	errs, err := e.judge(value)
	if err != nil {
		return notice.List{notice.New(&kinds.SchemaOther, "", "the schema could not be applied: "+err.Error())}
	}
	for _, e := range errs {
		list.Add(e.Notice())
	}
	for _, u := range e.unknownMembers(value) {
		list.Add(u.Notice())
	}
	list.Sort()
	return list
}

// With returns the same schemas with another limit on nesting (0: 64) and, if slow, without the quick
// program: every record is then sent to the schema engine, and what is reported is the same.
func (s *Schemas) With(depth int, slow bool) *Schemas {
	own := *s
	own.depth, own.slow = depth, own.slow || slow
	return &own
}

// shallow reports whether less may stand within each other than a tape takes.
func (s *Schemas) shallow() bool { return s.depth > 0 && s.depth < tape.MaxDepth }

// quickly reports whether the gate and the schema have surely nothing to say of a text.
func (e *engine) quickly(raw []byte) bool {
	r := fastRuns.Get().(*fastRun)
	defer fastRuns.Put(r)
	r.begin(e.fast, nil)
	return r.own.Parse(raw) && r.clean(e.fast, &r.own, 0)
}

var fastRuns = sync.Pool{New: func() any { return new(fastRun) }}

// engine is one schema: its tree, which the messages are made of, and what judges by it.
type engine struct {
	compiled func() (*jsonschema.Schema, error) // at the first call
	fast     *program                           // says yes quickly, or leaves it to compiled
	root     *schema.Node
	all      map[string]*schema.Node
}

// newEngines makes engines of schemas that may refer to each other and returns them by identifier.
// Formats are asserted; a reference that leads outside the schemas is refused.
func newEngines(texts ...[]byte) (map[string]*engine, error) {
	all, err := schema.Read(texts...)
	if err != nil {
		return nil, err
	}
	compiler := sync.OnceValues(func() (*jsonschema.Compiler, error) { return addAll(texts) })
	var one sync.Mutex // a compiler is not safe for concurrent use
	engines := make(map[string]*engine, len(all))
	for id, root := range all {
		if root.Dialect != schema.Draft {
			return nil, fmt.Errorf("schema %s: $schema is %q, want %q", root.ID, root.Dialect, schema.Draft)
		}
		engines[id] = &engine{fast: compileFast(root), root: root, all: all,
			compiled: sync.OnceValues(func() (*jsonschema.Schema, error) {
				one.Lock()
				defer one.Unlock()
				c, err := compiler()
				if err != nil {
					return nil, err
				}
				compiled, err := c.Compile(id)
				if err != nil {
					return nil, fmt.Errorf("compiling schema %s: %w", id, err)
				}
				return compiled, nil
			})}
	}
	return engines, nil
}

// addAll returns a compiler that knows the schemas.
func addAll(texts [][]byte) (*jsonschema.Compiler, error) {
	c := newCompiler()
	for _, text := range texts {
		var head struct {
			ID string `json:"$id"`
		}
		if err := json.Unmarshal(text, &head); err != nil {
			return nil, err
		}
		if err := c.AddResource(head.ID, bytes.NewReader(text)); err != nil {
			return nil, fmt.Errorf("adding schema %s: %w", head.ID, err)
		}
	}
	return c, nil
}

// newCompiler returns a compiler that asserts formats, which the engine does not do by default, and
// that opens nothing, where the default would read local files.
func newCompiler() *jsonschema.Compiler {
	c := jsonschema.NewCompiler()
	c.AssertFormat = true
	c.LoadURL = func(url string) (io.ReadCloser, error) {
		return nil, fmt.Errorf("schema %q is not built in, and nothing is fetched", url)
	}
	return c
}

// judge validates a value decoded from a text that has passed the gate.
func (e *engine) judge(value any) ([]SchemaError, error) {
	compiled, err := e.compiled()
	if err != nil {
		return nil, err
	}
	failed, err := validateSafely(compiled, value)
	if err != nil || failed == nil {
		return nil, err
	}
	return e.explain(failed, value), nil
}

// validateSafely validates and turns a panic of the schema engine into an error: the engine
// dereferences nil for numbers that math/big cannot hold.
func validateSafely(s *jsonschema.Schema, value any) (failed *jsonschema.ValidationError, err error) {
	defer func() {
		if r := recover(); r != nil {
			failed, err = nil, fmt.Errorf("the schema engine stopped at this record: %v", r)
		}
	}()
	switch err := s.Validate(value).(type) {
	case nil:
		return nil, nil
	case *jsonschema.ValidationError:
		return err, nil
	default:
		return nil, fmt.Errorf("validating: %w", err)
	}
}
