package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/spf13/cobra"

	"github.com/findslip/findslip/cmd/internal/suite"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/schemacheck"
)

// maxRequest bounds one line of a request.
const maxRequest = 64 << 20

func (p *program) conformanceCommand() *cobra.Command {
	return described("conformance", &cobra.Command{
		Hidden: true,
		Args:   cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			lines := bufio.NewScanner(p.in)
			lines.Buffer(make([]byte, 1<<16), maxRequest)
			for lines.Scan() {
				if len(bytes.TrimSpace(lines.Bytes())) == 0 {
					continue
				}
				var h suite.Hand
				if err := json.Unmarshal(lines.Bytes(), &h); err != nil {
					return fmt.Errorf("a request is not as the protocol has it: %w", err)
				}
				a, err := answer(c.Context(), h)
				if err != nil {
					return err
				}
				text, err := json.Marshal(a, jsontext.AllowInvalidUTF8(true))
				if err != nil {
					return err
				}
				if _, err := fmt.Fprintf(p.out, "%s\n", text); err != nil {
					return err
				}
			}
			return lines.Err()
		},
	})
}

// errUnsupported is what this program does not do.
type errUnsupported struct{ what string }

// Error says what it is.
func (e errUnsupported) Error() string { return e.what }

// A job is one request on its way through the command.
type job struct {
	ctx  context.Context
	dir  string // a folder of its own
	hand suite.Hand
	in   []byte
	talk bytes.Buffer // standard error of the last run

	faulty bool // the last run ended with the status for faults of the data
}

// operations are what can be asked for.
func operations() map[string]func(*job) (*suite.Answer, error) {
	return map[string]func(*job) (*suite.Answer, error){
		"read": (*job).read, "schema": (*job).schema, "validate": (*job).validate, "convert": (*job).convert,
		"share":    (*job).share,
		"template": (*job).template, "columns": (*job).columns, "repair": (*job).repair, "apply": (*job).apply,
		"pack": (*job).pack, "unpack": (*job).unpack,
		"write": (*job).write, "receive": (*job).receive, "compare": (*job).compare,
	}
}

func answer(ctx context.Context, h suite.Hand) (*suite.Answer, error) {
	if h.Operation == "describe" {
		names := []string{}
		for name := range operations() {
			names = append(names, name)
		}
		slices.Sort(names)
		return give(h.ID, map[string]any{"implementation": "findslip", "version": version(), "protocol": "1",
			"operations": names})
	}
	work, known := operations()[h.Operation]
	if !known {
		return &suite.Answer{ID: h.ID, Unsupported: "the operation " + h.Operation}, nil
	}
	in, err := h.Input.Bytes()
	if err != nil {
		return nil, fmt.Errorf("request %s: %w", h.ID, err)
	}
	dir, err := os.MkdirTemp("", "findslip-conformance-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	a, err := work(&job{ctx: ctx, dir: dir, hand: h, in: in})
	var no errUnsupported
	switch {
	case errors.As(err, &no):
		return &suite.Answer{ID: h.ID, Unsupported: no.what}, nil
	case err != nil:
		return &suite.Answer{ID: h.ID, Refused: &suite.Refusal{Code: codeOf(err), Message: err.Error()}}, nil
	}
	a.ID = h.ID
	return a, nil
}

// codeOf returns the code of an error, if it has one.
func codeOf(err error) string {
	var r *find.ReadError
	var i *pipeline.InputError
	var w *profileError
	switch {
	case errors.As(err, &w):
		return w.code
	case errors.As(err, &r):
		return r.Code
	case errors.As(err, &i):
		return i.Code
	}
	return ""
}

func give(id string, v any) (*suite.Answer, error) {
	text, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	return &suite.Answer{ID: id, Output: &suite.Content{JSON: []byte(text)}}, nil
}

// run runs the command as typed and returns what it wrote. Notices of the data are no error.
func (j *job) run(args ...string) ([]byte, error) {
	var out bytes.Buffer
	j.talk.Reset()
	p := &program{in: bytes.NewReader(j.in), out: &out, err: &j.talk}
	root := p.command()
	root.SetArgs(args)
	root.SetOut(&out)
	root.SetErr(&j.talk)
	err := root.ExecuteContext(j.ctx)
	j.faulty = errors.Is(err, errNotices)
	if err != nil && !j.faulty {
		return nil, err
	}
	return out.Bytes(), nil
}

// option takes an option of the request; none is empty.
func (j *job) option(name string) string {
	v, ok := j.hand.Options[name]
	if !ok {
		return ""
	}
	return fmt.Sprint(v)
}

// flags are the options of a request that are flags of the command, under their names there.
var flags = map[string]string{"dateOrder": "--date-order", "unit": "--unit", "system": "--system", "pivot": "--pivot",
	"serial": "--serial",
	"asOf":   "--as-of", "language": "--language", "level": "--level", "from": "--from", "reportId": "--report-id",
	"audience": "--for", "limit": "--limit", "receiver": "--to", "earlier": "--earlier", "by": "--by"}

// args makes arguments of the options, of which the operation itself takes some.
func (j *job) args(taken ...string) ([]string, error) {
	var args []string
	for name, value := range j.hand.Options {
		switch flag, known := flags[name]; {
		case slices.Contains(taken, name):
		case !known:
			return nil, errUnsupported{"the option " + name + " of " + j.hand.Operation}
		default:
			args = append(args, fmt.Sprintf("%s=%v", flag, value))
		}
	}
	slices.Sort(args)
	return args, nil
}

// file puts bytes into a file of the folder of the job.
func (j *job) file(name string, content []byte) (string, error) {
	path := filepath.Join(j.dir, filepath.Base(name))
	return path, os.WriteFile(path, content, 0o600)
}

// input is the name of the input for the command: standard input, unless the file has to bear a name.
func (j *job) input() (string, error) {
	if name := j.option("name"); name != "" {
		return j.file(name, j.in)
	}
	return "-", nil
}

func (j *job) read() (*suite.Answer, error) {
	args, err := j.args("kind")
	if err != nil {
		return nil, err
	}
	if !utf8.Valid(j.in) {
		return nil, errUnsupported{"bytes that are no text"}
	}
	out, err := j.run(slices.Concat([]string{"read", j.option("kind"), "--json"}, args, []string{"--", string(j.in)})...)
	if err != nil {
		return nil, err
	}
	var r struct {
		Error   *suite.Refusal `json:"error"`
		Notices []suite.Notice `json:"notices"`
		Input   string         `json:"input"`
		Label   string         `json:"label"`
		Rest    jsontext.Value `json:",embed"`
	}
	if err := json.Unmarshal(out, &r); err != nil {
		return nil, err
	}
	a := &suite.Answer{Notices: r.Notices}
	if r.Error != nil {
		a.Refused = &suite.Refusal{Code: r.Error.Code, Message: r.Error.Message}
		return a, nil
	}
	if len(r.Rest) == 0 {
		r.Rest = jsontext.Value("{}")
	}
	a.Output = &suite.Content{JSON: []byte(r.Rest)}
	return a, nil
}

type checkNotice struct {
	suite.Notice
	Message string `json:"message"`
	Find    string `json:"find"`
}

// A checkReport is what check says, as far as it is asked for here.
type checkReport struct {
	Notices   []checkNotice  `json:"notices"`
	Read      []checkNotice  `json:"read"`
	LevelsMet []string       `json:"levelsMet"`
	Deadlines jsontext.Value `json:"deadlines"`
	Receivers jsontext.Value `json:"receivers"`
	whole     []byte
}

// list returns the notices without their words, said the words alone.
func (r *checkReport) list() (list []suite.Notice, said []string) {
	said = []string{}
	for _, n := range append(r.Notices, r.Read...) {
		list = append(list, n.Notice)
		said = append(said, strings.TrimSpace(n.Find+" "+n.Message))
	}
	return list, said
}

// checked runs check and returns what it says.
func (j *job) checked(name string, args ...string) (*checkReport, error) {
	out, err := j.run(slices.Concat([]string{"check", name, "--report=json", "--rules=all", "--fail-on=never"}, args)...)
	if err != nil {
		return nil, err
	}
	r := &checkReport{whole: out}
	return r, json.Unmarshal(out, r)
}

func (j *job) schema() (*suite.Answer, error) {
	switch name := j.option("schema"); name {
	case "report":
	case "simple":
		schemas, err := schemacheck.New()
		if err != nil {
			return nil, err
		}
		found, err := schemas.Document(j.in, name)
		if err != nil {
			return nil, err
		}
		return give("", map[string]bool{"valid": len(found) == 0})
	default:
		return nil, errUnsupported{"the schema " + name + " alone"}
	}
	r, err := j.checked("-", "--from=findslip")
	if err != nil {
		return nil, err
	}
	list, _ := r.list()
	valid := !slices.ContainsFunc(list, func(n suite.Notice) bool { return strings.HasPrefix(n.Code, "schema-") })
	return give("", map[string]bool{"valid": valid})
}

// profiled is args for an operation that takes profiles: their files by name in profiles, the names of those that are
// asked in profile.
func (j *job) profiled(taken ...string) ([]string, error) {
	args, err := j.args(append(taken, "profile", "profiles")...)
	if err != nil {
		return nil, err
	}
	files, _ := j.hand.Options["profiles"].(map[string]any)
	for name, value := range files {
		raw, err := json.Marshal(value)
		if text, ok := value.(string); ok {
			raw, err = []byte(text), nil
		}
		if err == nil {
			_, err = j.file(name, raw)
		}
		if err != nil {
			return nil, err
		}
	}
	var names []any
	switch x := j.hand.Options["profile"].(type) {
	case string:
		names = []any{x}
	case []any:
		names = x
	}
	for _, name := range names {
		path := fmt.Sprint(name)
		if _, ok := files[path]; ok {
			path = filepath.Join(j.dir, filepath.Base(path))
		}
		args = append(args, "--profile="+path)
	}
	return args, nil
}
